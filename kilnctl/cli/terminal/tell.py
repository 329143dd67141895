"""Plain lines for a person, in the units that were chosen."""

from kilnctl.config.preferences import as_chosen


def tell(*lines: str) -> None:
    """Print lines. Raises ConfigError for preferences that cannot be understood."""
    chosen = as_chosen()
    for line in lines:
        print(chosen(line))
