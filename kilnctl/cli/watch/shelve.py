"""The command that puts an alarm aside for a while: shelve (a word of ISA-18.2)."""

from typing import Annotated

from cyclopts import Parameter

from kilnctl.cli.terminal.ask_controller import ask, print_answer
from kilnctl.errors import RunRefused
from kilnctl.units import parse_duration_s, say_duration


def shelve(
    alarm: str,
    /,
    *,
    hold_for: Annotated[str, Parameter(name="--for")] = "15min",
    why: str = "",
    oven: str | None = None,
) -> int:
    """Shelve a standing alarm for a while; it comes back by itself. A trip cannot be shelved.

    Parameters
    ----------
    alarm:
        The alarm's kind, as `kilnctl status` shows it.
    hold_for:
        For how long, an hour at most ("20min").
    why:
        Why, for the record; a few words are needed.
    oven:
        The name of the oven, where several run.
    """
    for_s = parse_duration_s(hold_for)
    if len(why.strip()) < 5:
        raise RunRefused('say why, for the record: --why "the new supply meter reads low"')
    done = f"{alarm} is shelved for {say_duration(for_s)}; then it comes back"
    return print_answer(ask("shelve", oven, kind=alarm, for_s=for_s, why=why), done)
