"""Who types here: user and place, as record and other screens say it. Loads next to nothing."""

import os


def who() -> str:
    """Return user and place: "anna at terminal 3", "anna at terminal 3 from 10.0.0.7". Never raises."""
    user = os.environ.get("LOGNAME") or os.environ.get("USER") or f"user {os.getuid()}"
    from_host = os.environ.get("SSH_CONNECTION", "").partition(" ")[0]
    return f"{user} at {_place()}" + (f" from {from_host}" if from_host else "")


def _place() -> str:
    """Return the terminal of standard input in words; two screens of one user stay apart."""
    if "KILNCTL_BROWSER" in os.environ:
        return "a browser"
    try:
        name = os.ttyname(0).removeprefix("/dev/")
    except OSError:
        return f"no terminal (process {os.getpid()})"
    if name.startswith("pts/"):
        return f"terminal {name.removeprefix('pts/')}"
    return f"console {name.removeprefix('tty')}"
