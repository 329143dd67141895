"""Plain lines for a person, in the units that were chosen."""

import sys
from pathlib import Path

from kilnctl.cli.terminal.whole_words import whole_words
from kilnctl.config.preferences import as_chosen

WIDTH = 80  # of a page in the terminal


def tell(*lines: str) -> None:
    """Print lines. Raises ConfigError for preferences that cannot be understood."""
    chosen = as_chosen()
    for line in lines:
        print(whole_words(chosen(line), sys.stdout))


def tell_boxes(out: Path, lacking: str) -> None:
    """Say on stderr which letters of a written file are boxes, for want of a font."""
    if lacking:
        why = f"no font of this computer has {lacking}, so there are boxes in its place"
        said = f"{out}: {why}; install one that has it, or write the page as html"
        print(whole_words(said, sys.stderr), file=sys.stderr)
