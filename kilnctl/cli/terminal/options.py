"""Options that many commands have, and the rule that one which is given and not used is an error."""

from typing import Annotated

from cyclopts import Parameter

from kilnctl.errors import ConfigError

Flag = Annotated[bool, Parameter(negative="")]
Json = Annotated[bool, Parameter(name="--json", negative="")]
# A heat as it is named on the command line: its job, its oven, or a temperature held for a time.
JobName = Annotated[str | None, Parameter(help="A recipe or profile file, or the name of a bundled recipe.")]
JobsOven = Annotated[
    str | None, Parameter(help="An oven file or name; left out, the oven that the job names.")
]
HoldAt = Annotated[
    str | None, Parameter(name="--soak", help='A temperature to hold, for a job without a file ("218C").')
]
HoldFor = Annotated[str | None, Parameter(name="--for", help='How long to hold it ("2h").')]


def refuse_unused(why: str, **given: object) -> None:
    """Raise ConfigError that names those options which were typed and would not be used, and says why."""
    typed = [_word(name) for name, value in given.items() if _is_typed(value)]
    if typed:
        raise ConfigError(f"{why}: leave out {', '.join(typed)}")


def _is_typed(value: object) -> bool:
    if isinstance(value, float):
        return value != 1.0  # the pace of real time
    return value is not None and value is not False and value != ""


def _word(name: str) -> str:
    return name if name.isupper() else "--" + name.replace("_", "-")
