"""Long lines on a terminal break between words; a pipe gets them as they are. Loads next to nothing."""

import os
from typing import TextIO

HELD = "\x1f"  # stands for a blank that must not become the end of a row: a command is copied whole


def whole_words(text: str, stream: TextIO) -> str:
    """Return lines as the terminal behind a stream shows them best: no word, and no command, cut in two."""
    width = _columns(stream)
    if not width or all(len(line) <= width for line in text.split("\n")):
        return text
    return "\n".join(_broken(line, width) for line in text.split("\n"))


def _columns(stream: TextIO) -> int:
    """Return the width of a terminal in columns, 0 for anything else."""
    try:
        return os.get_terminal_size(stream.fileno()).columns if stream.isatty() else 0
    except (OSError, ValueError):
        return 0


def _broken(line: str, width: int) -> str:
    import re  # late: most lines are short
    from textwrap import fill

    from kilnctl.report.layout.units_held import UNIT

    parts = UNIT.sub(rf"\1{HELD}", line).split("`")
    parts[1::2] = [command.replace(" ", HELD) for command in parts[1::2]]
    begins = re.match(r" *(?:- )?(?:\S+(?: \S+)*  +)?", line)  # where the words begin, in a list, in a column
    narrow = begins is not None and len(begins[0]) < width / 2
    indent = len(begins[0]) if begins is not None and narrow else len(line) - len(line.lstrip(" "))
    rows = fill(
        "`".join(parts),
        width,
        subsequent_indent=" " * indent,
        break_long_words=False,
        break_on_hyphens=False,
        expand_tabs=False,
        replace_whitespace=False,
    )
    return rows.replace(HELD, " ")
