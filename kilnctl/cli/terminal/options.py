"""Options that many commands have, and the rule that one which is given and not used is an error."""

import math
import re
from collections.abc import Sequence
from typing import Annotated, Any

from cyclopts import Parameter, Token, convert

from kilnctl.errors import ConfigError

Flag = Annotated[bool, Parameter(negative="")]
Json = Annotated[bool, Parameter(name="--json", negative="")]
# Why a page is not written beside JSON.
PRINTED = "--json prints, and writes no page"
# A heat as it is named on the command line: its job, its oven, or a temperature held for a time.
JobName = Annotated[str | None, Parameter(help="A recipe or profile file, or the name of a bundled recipe.")]
JobsOven = Annotated[
    str | None, Parameter(help="An oven file or name; left out, the oven that the job names.")
]
HoldAt = Annotated[
    str | None,
    Parameter(
        name="--soak",
        help='A temperature to hold, for a job without a file ("218C"). It heats at 400 °C/h; for another '
        "rate write a profile (`kilnctl guide profile-file`).",
    ),
]
HoldFor = Annotated[str | None, Parameter(name="--for", help='How long to hold it ("2h").')]

OPTION = re.compile("--[a-z]")


def shown_default(value: object) -> str | None:
    """Return what help says of an option that is left out; nothing of a flag and of a text without words."""
    return None if value in (None, False, "") else str(value)


def as_typed(kind: Any, tokens: Sequence[Token]) -> Any:
    """Return what was typed as the kind that an option has. Raises ValueError where a number would change.

    The library takes 1.5 for 2 and 0x10 for 16 where a whole number is asked for, and nan for a number; and
    where "-78 C" may stand it takes an option for a value.
    """
    if kind is str and any(OPTION.match(token.value) for token in tokens):
        raise ValueError("an option")
    if kind is int and not all(token.value.lstrip("+-").isdecimal() for token in tokens):
        raise ValueError("not a whole number")
    if kind is float and not all(math.isfinite(float(token.value)) for token in tokens):
        raise ValueError("not a number")
    return convert(kind, tokens)


def refuse_unused(why: str, **given: object) -> None:
    """Raise ConfigError that names those options which were typed and would not be used, and says why."""
    typed = [_word(name) for name, value in given.items() if value not in (None, False, "", ())]
    if typed:
        raise ConfigError(f"{why}: leave out {', '.join(typed)}")


def _word(name: str) -> str:
    return name if name.isupper() else "--" + name.replace("_", "-")
