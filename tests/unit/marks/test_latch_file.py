"""The file of a latch: whatever is torn, strange or too long in it, nothing reads as free."""

import pytest
from latches import STUCK, armed

from kilnctl.config import home
from kilnctl.errors import RunRefused
from kilnctl.marks import latch, latch_file

pytestmark = pytest.mark.usefixtures("own_home")


def place():
    return home.latch_dir() / "small oven.latch"


GOOD = {"state": "armed", "oven": "small oven", "utc": "2026-11-25T12:00:00+00:00", "reset": "A"}


@pytest.mark.parametrize(
    "change",
    [
        {"state": "fine"},
        {"oven": "another"},
        {"reset": "D"},
        {"utc": "yesterday"},
        {"surprise": 1},
        {"kind": 3},
        {"escalations": "x\n"},
        {"identity": 7},
        {"run": "7"},
    ],
)
def test_an_entry_that_cannot_be_counts_as_latched(change):
    latch_file.renew(place(), {**GOOD, **change})
    assert latch.read("small oven").state == "unreadable"
    with pytest.raises(RunRefused, match="cannot be read"):
        armed()


@pytest.mark.parametrize("raw", [b"", b"{}", b"\xff\xfe\x00", bytes(latch_file.SIZE), b"9" * latch_file.SIZE])
def test_a_file_of_anything_else_counts_as_latched(raw):
    place().write_bytes(raw)
    assert latch.read("small oven").state == "unreadable"


def test_the_entry_those_were_made_from_is_readable():
    latch_file.renew(place(), GOOD)
    assert latch.read("small oven").state == "armed"


@pytest.mark.parametrize("torn", range(0, latch_file.SLOT_SIZE, 97))
def test_a_write_torn_at_any_byte_leaves_the_oven_latched(torn):
    one = armed()
    before = place().read_bytes()
    one.trip(STUCK)
    after = place().read_bytes()
    at = 0 if before[: latch_file.SLOT_SIZE] != after[: latch_file.SLOT_SIZE] else latch_file.SLOT_SIZE
    mixed = bytearray(before)
    mixed[at : at + torn] = after[at : at + torn]
    place().write_bytes(mixed)
    # Once the write of the trip has begun it must not read as an interrupted heat, which could be taken up.
    assert latch.read("small oven").state in (("tripped", "unreadable") if torn else ("armed",))


def test_a_torn_entry_beside_free_is_not_free():
    one = armed()
    one.release()
    raw = bytearray(place().read_bytes())
    free = 0 if b'"free"' in raw[: latch_file.SLOT_SIZE] else latch_file.SLOT_SIZE
    other = latch_file.SLOT_SIZE - free
    raw[other : other + 10] = b"0123456789"
    place().write_bytes(raw)
    assert latch.read("small oven").state == "unreadable"
