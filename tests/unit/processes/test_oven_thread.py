"""What is told of a heat that has ended: the newest that is known of its off, as every screen has it."""

from types import SimpleNamespace
from typing import Any

import pytest

from kilnctl.cli.heat import follow_job
from kilnctl.heat.job import Outcome
from kilnctl.link.snapshot import Snapshot
from kilnctl.processes.oven_thread import Hosted

PICTURE: dict[str, Any] = {
    "oven": "K1",
    "simulated": False,
    "sequence": 9,
    "utc": "2026-01-01T00:00:00+00:00",
    "state": "tripped",
    "word": "tripped",
    "elapsed_s": 100.0,
    "process_c": 100.0,
    "setpoint_c": None,
    "part_c": None,
    "goal_c": None,
    "limit_c": 600.0,
    "duty": 0.0,
    "heat_on": False,
    "run": 3,
    "segment": 0,
    "trip": "the line is silent",
}


def ended(at_its_end: bool, **newest: Any) -> dict[str, Any]:
    """Return the summary of a heat, asked for when the newest picture has come."""
    hosted = SimpleNamespace(
        outcome=Outcome("tripped", "the line is silent", at_its_end, 4, {}),
        run_id=3,
        alive=True,
        heat=SimpleNamespace(station=SimpleNamespace(oven=SimpleNamespace(isolator="Q1"))),
        _snapshot=lambda: Snapshot(**PICTURE | newest),
    )
    told: dict[str, Any] = Hosted.status(hosted)["summary"]  # type: ignore[arg-type]
    return told


@pytest.mark.parametrize(
    ("at_its_end", "newest", "confirmed"),
    [
        (False, {"off_read_back": True}, True),  # the cable is in again
        (False, {"off_read_back": False}, False),
        (False, {}, False),
        (True, {}, True),
        (True, {"off_read_back": False}, False),  # as `status` says of it
        (False, {"off_read_back": True, "still_on": True}, False),  # a contact sees heat after the off
    ],
)
def test_the_last_word_of_a_heat_is_the_newest(
    at_its_end: bool, newest: dict[str, Any], confirmed: bool, capsys: pytest.CaptureFixture[str]
) -> None:
    """The screen said "HEAT IS OFF, read back", and q then "OFF IS NOT CONFIRMED. CUT THE POWER NOW"."""
    summary = ended(at_its_end, **newest)
    follow_job.tell(summary, print, as_json=False)
    said = capsys.readouterr().out
    assert ("heat off, read back" in said) is confirmed
    assert ("CUT THE POWER NOW" in said) is not confirmed
