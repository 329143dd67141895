"""The command that changes a running heat within its checked plan: adjust."""

from typing import Literal

from kilnctl.cli.terminal.ask_controller import ask, print_answer
from kilnctl.errors import UnitError
from kilnctl.units import parse_duration_s, parse_point_c


def adjust(
    what: Literal["longer", "lower", "next"], value: str | None = None, /, *, oven: str | None = None
) -> int:
    """Change a running heat; never above the checked plan, and recorded as a deviation.

    Parameters
    ----------
    what:
        longer lengthens the soak, lower lowers the goal (and what is held after it, up to the next ramp),
        next goes on to the next step.
    value:
        By how long ("30min") or down to what ("200C"); nothing for next.
    oven:
        The name of the oven, where several run.
    """
    if (value is None) != (what == "next"):
        raise UnitError("write: adjust longer 30min, adjust lower 200C, or adjust next")
    args: dict[str, object] = {"what": what}
    if value is not None:
        args |= {"by_s": parse_duration_s(value)} if what == "longer" else {"to_c": parse_point_c(value)}
    return print_answer(ask("adjust", oven, **args), f"takes effect at once: {what} {value or ''}".rstrip())
