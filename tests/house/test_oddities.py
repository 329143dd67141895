"""The list of oddities (`tests/foreign/oddities.md`): each key is in the file, a question leads to it."""

import re
from pathlib import Path

import pytest

from kilnctl.cli.oven.oven_file.more_keys import more_keys
from kilnctl.guide.pages import page

ROWS = [
    [cell.strip() for cell in line.strip("|").split("|")]
    for line in Path("tests/foreign/oddities.md").read_text(encoding="utf-8").splitlines()
    if line.startswith("| ") and not line.startswith("| oddity")
]
TABLES = (
    *[((table, "x"), kind) for kind in ("modbus", "text") for table in ("port", "device")],
    (("signal", "process"), "modbus"), (("signal", "door_open"), "modbus"), (("output", "heater"), "modbus"),
    (("dead_man",), "modbus"), (("arm",), "modbus"), (("identity",), "modbus"),
    (("signal", "process", "fault"), "modbus"),
)  # fmt: skip
OFFERED = {key for path, kind in TABLES for key in more_keys(path, kind)}
# Asked in another way in every table, or the name of a table.
ASKED = {"table", "register", "address", "path", "port", "device", "kind", "ask", "tell", "send", "words",
         "arm", "dead_man", "identity", "fault"}  # fmt: skip


@pytest.mark.parametrize(("oddity", "keys", "question"), ROWS, ids=[row[0][:40] for row in ROWS])
def test_an_oddity_is_said_or_refused(oddity: str, keys: str, question: str) -> None:
    named = re.findall(r"`([a-z_]+)`", keys)
    assert set(named) <= OFFERED | ASKED
    assert bool(named) == question.startswith(("own", "y/n", "text", "else"))
    assert keys != "-" or "What cannot be used" in page(question).text()


def test_there_are_as_many_as_a_newcomer_meets() -> None:
    assert len(ROWS) >= 60
