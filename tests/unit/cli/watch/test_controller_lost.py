"""A heat whose controller has gone without a word: the command and the latch say the same of it."""

from datetime import UTC, datetime

import pytest

from kilnctl.cli.heat.follow_job import tell
from kilnctl.cli.watch.controller_lost import _by_latch, end_of
from kilnctl.cli.watch.read_back_since import ReadBackSince
from kilnctl.clock import VirtualClock
from kilnctl.config import home
from kilnctl.config.oven import load_oven
from kilnctl.errors import NoController
from kilnctl.marks import running_ovens, supervisor_report
from kilnctl.marks.latch import Latch
from kilnctl.marks.supervisor_report import LastWords
from kilnctl.readings import Trip


@pytest.mark.usefixtures("own_home")
def test_a_heat_that_nobody_ended_is_called_what_its_latch_says() -> None:
    latch = Latch("left", lambda: datetime(2026, 11, 3, tzinfo=UTC))
    latch.arm(7)
    assert _by_latch("left") == "interrupted"
    latch.release()  # or a home that was moved: nothing here says that it tripped
    assert _by_latch("left") == "interrupted"
    latch.trip(Trip("sensor_lost", "open", 0.0))
    assert _by_latch("left") == "tripped"


@pytest.mark.usefixtures("own_home")
def test_what_a_later_supervisor_cut_was_an_interruption_and_what_its_own_cut_latched() -> None:
    """The first start after a crash cuts what was left, and says so in words newer than the lost heat."""
    oven = load_oven(home.bundled("ovens") / "tempering-oven.toml")
    clock, latch = VirtualClock(), Latch(oven.name, lambda: datetime(2026, 11, 3, tzinfo=UTC))
    latch.arm(7)
    supervisor_report.write(
        LastWords("2026-11-03T09:00:00+00:00", "the computer went down", {oven.name: True})
    )
    began = datetime(2026, 11, 3, 8, tzinfo=UTC)
    code, summary = end_of(7, oven, began, NoController("gone"), ReadBackSince(), clock)
    assert (code, summary["outcome"]) == (4, "interrupted")
    latch.trip(Trip("controller_lost", "killed", 0.0))
    assert end_of(7, oven, began, NoController("gone"), ReadBackSince(), clock)[1]["outcome"] == "tripped"


@pytest.mark.usefixtures("own_home")
def test_a_recording_whose_controller_has_gone_was_interrupted_and_heated_nothing() -> None:
    oven = load_oven(home.bundled("ovens") / "tempering-oven.toml")
    running_ovens.mark(oven.name, (home.bundled("ovens") / "tempering-oven.toml").read_text(), heats=False)
    began = datetime(2026, 11, 3, 8, tzinfo=UTC)
    for watched in ([], [oven.name]):
        if watched:
            words = LastWords("2026-11-03T09:00:00+00:00", "killed", {}, {}, watched)
            supervisor_report.write(words)
            assert words.line() == f"killed; nothing was heating, only watched: {oven.name}"
        code, summary = end_of(
            7, oven, began, NoController("gone"), ReadBackSince(), VirtualClock(), watches=True
        )
        assert (code, summary["outcome"], summary["never_heated"]) == (6, "interrupted", True)


@pytest.mark.usefixtures("own_home")
@pytest.mark.parametrize("supervisor_spoke", [False, True])
def test_a_heat_that_somebody_else_has_read_back_as_off_asks_for_no_hands(supervisor_spoke: bool) -> None:
    """`kilnctl off` had read it back in another terminal; the run ended with "CUT THE POWER NOW"."""
    path = home.bundled("ovens") / "tempering-oven.toml"
    oven, began = load_oven(path), datetime(2026, 11, 3, 8, tzinfo=UTC)
    running_ovens.mark(oven.name, path.read_text())
    since, ended = ReadBackSince(), []
    if supervisor_spoke:
        supervisor_report.write(LastWords("2026-11-03T09:00:00+00:00", "killed", {oven.name: False}))

    def end() -> str:
        _, summary = end_of(7, oven, began, NoController("gone"), since, VirtualClock())
        tell(summary, ended.append, as_json=False)
        return str(ended[-1])

    assert "OFF IS NOT CONFIRMED. CUT THE POWER NOW" in end()
    running_ovens.clear(oven.name)
    said = end()
    assert said == f"\ninterrupted: {'killed' if supervisor_spoke else 'gone'}; heat off, read back (run 7)"
