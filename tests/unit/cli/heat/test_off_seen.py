"""What was seen of the off stamps at the front door is handed on once: an off that comes later is later."""

from pathlib import Path

from kilnctl.cli.heat import off_seen
from kilnctl.marks import off_stamp


def test_an_off_after_the_first_look_is_told_from_one_before(own_home: Path) -> None:
    (own_home / "off").mkdir()
    off_seen.remember()
    (own_home / "off" / "an-oven").write_bytes(b"x" * off_stamp.SIZE)
    first = off_seen.stamps()
    assert "home/an-oven" not in first
    assert "home/an-oven" in off_seen.stamps()  # who was not started by the front door looks now
