"""The lines of the protocol's page: what is sent, what must come back, and what happens between."""

import re
from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

PAGE = Path("kilnctl/guide/connect/line-board.md").read_text(encoding="utf-8")
BLOCKS = re.findall(r"```text\n(.*?)```", PAGE, re.S)


class Row(NamedTuple):
    """Bytes sent and bytes due; or a stage direction, and nothing else."""

    sent: bytes
    due: bytes
    stage: str = ""


def rows(block: str) -> list[Row]:
    found = []
    for line in block.splitlines():
        sent, _, due = line.partition(" |")
        if line.startswith("# "):
            found.append(Row(b"", b"", line[2:]))
        else:
            found.append(Row(*(text.strip().encode() + b"\n" for text in (sent, due))))
    return found


CONVERSATION, OWN_SENSOR = rows(BLOCKS[0]), rows(BLOCKS[1])
LONGEST_REPLY = BLOCKS[2].encode()


def play(
    table: list[Row], take: Callable[[bytes], bytes], happens: dict[str, Callable[[], object]]
) -> list[Row]:
    """Send a table's lines in order; return every row whose answer was another, with that answer.

    `take` gets bytes and returns what came back. A stage direction that is none of `happens` lets time pass
    or is a heading. A banner is preceded by a line feed and stands alone; silence is an empty reply.
    """
    wrong = []
    for row in table:
        if row.stage:
            _happen(row.stage, happens)
            continue
        got = take(b"" if row.due.startswith(b"!") else row.sent)
        due = b"\n" + row.due if row.due.startswith(b"!") else row.due.lstrip(b"\n")
        if got != due:
            wrong.append(Row(row.sent, got, f"due was {due!r}"))
    return wrong


def _happen(stage: str, happens: dict[str, Callable[[], object]]) -> None:
    passing = re.fullmatch(r"([\d.]+) s pass(es)?", stage)
    if passing:
        happens["pass"](float(passing[1]))  # type: ignore[call-arg]
    elif stage in happens:
        happens[stage]()
