"""The command that prints an oven file: oven show."""

from kilnctl.config import home
from kilnctl.errors import ConfigError


def show(oven: str, /) -> int:
    """Print an oven file as it stands, also one that has mistakes.

    Parameters
    ----------
    oven
        An oven file or name.
    """
    path = home.find(oven, "ovens", ConfigError)
    try:
        text = path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError):
        raise ConfigError(f"{path}: cannot be read as text") from None
    print(f"# {path}\n{text}", end="")
    return 0
