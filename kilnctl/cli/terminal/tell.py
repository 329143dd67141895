"""Plain lines for a person, in the units that were chosen."""

import sys
from pathlib import Path

from kilnctl.config.preferences import as_chosen


def tell(*lines: str) -> None:
    """Print lines. Raises ConfigError for preferences that cannot be understood."""
    chosen = as_chosen()
    for line in lines:
        print(chosen(line))


def tell_boxes(out: Path, lacking: str) -> None:
    """Say on stderr which letters of a written file are boxes, for want of a font."""
    if lacking:
        print(f"{out}: the font has no {lacking}: boxes there; a page as html shows them", file=sys.stderr)
