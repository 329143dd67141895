"""What a command saw of the off stamps as its first act: an off that comes while it still loads is later."""

from typing import TYPE_CHECKING

from kilnctl.config import home

if TYPE_CHECKING:
    from kilnctl.marks.off_stamp import Token

HEATS = ("run", "tune", "commission")
_stamps: "list[Token]" = []


def remember() -> None:
    """Look at the stamps and keep that for the command that follows."""
    _stamps[:] = [_now()]


def stamps() -> "Token":
    """Return what was seen first, once; who was not started by the front door looks now."""
    return _stamps.pop() if _stamps else _now()


def _now() -> "Token":
    from kilnctl.marks import off_stamp  # late: only what heats looks

    return off_stamp.stamps_now(home.home())
