"""What a command saw of the off stamps as its first act: an off that comes while it still loads is later."""

from kilnctl.config import home
from kilnctl.runtime import off_stamp

HEATS = ("run", "tune", "commission")
_seen: list[off_stamp.Token] = []


def look() -> None:
    """Look at the stamps and keep that for the command that follows."""
    _seen[:] = [off_stamp.seen(home.home())]


def stamps() -> off_stamp.Token:
    """Return what was seen first, once; who was not started by the front door looks now."""
    return _seen.pop() if _seen else off_stamp.seen(home.home())
