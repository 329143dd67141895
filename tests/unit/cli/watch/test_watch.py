"""Opening the screen where no controller runs, and what it may not do."""

from datetime import UTC, datetime
from pathlib import Path

import pytest
from link_ends import OVEN

from kilnctl.cli.main import run
from kilnctl.marks import latch


def armed(oven: str, run_id: int) -> latch.Latch:
    """Return the latch of a heat that is about to begin: armed on the disk."""
    made = latch.Latch(oven, lambda: datetime(2026, 1, 1, tzinfo=UTC))
    made.arm(run_id)
    return made


def test_watch_without_a_controller_says_what_an_interrupted_heat_asks_for(
    own_home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["watch"]) == 3
    assert "interrupted" not in capsys.readouterr().err
    armed("left", 7)
    assert run(["watch"]) == 3
    said = capsys.readouterr().err
    assert "no controller is running; start one with `kilnctl run" in said
    assert 'a heat of oven "left" that began at' in said
    assert "`kilnctl run --from 7`" in said
    assert "`kilnctl reset --oven left`" in said


@pytest.mark.usefixtures("host")
def test_an_oven_that_nobody_runs_is_not_waited_for(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["watch", "--oven", "lfet"]) == 2
    assert capsys.readouterr().err == 'kilnctl: no oven "lfet" is run or watched here: left\n'


async def test_the_screen_does_not_reset_a_live_oven_from_afar(monkeypatch: pytest.MonkeyPatch) -> None:
    from dataclasses import replace

    from kilnctl.cli.watch import watch
    from kilnctl.permits import presence

    monkeypatch.setattr(presence, "here_now", lambda: False)
    answer = await watch.reset_here(replace(OVEN, simulated=False), "lead was loose")
    assert not answer.accepted
    assert "not at the machine" in answer.why
    assert "kilnctl reset --oven left" in answer.why


@pytest.mark.usefixtures("own_home")
def test_an_off_from_another_terminal_is_known_where_the_controller_died_with_its_supervisor() -> None:
    """The screen went on saying "The heat may be on" after an off that was read back twice."""
    from kilnctl.cli.watch.read_back_since import ReadBackSince
    from kilnctl.cli.watch.watch import last_words_since
    from kilnctl.config import home
    from kilnctl.marks import running_ovens, supervisor_report

    utc, name = "2026-11-03T08:00:00+00:00", "tempering-oven"
    running_ovens.mark(name, (home.bundled("ovens") / f"{name}.toml").read_text())
    since = ReadBackSince()
    assert last_words_since(since, utc).words == ""
    running_ovens.clear(name)
    cut = last_words_since(since, utc)
    assert (cut.words, cut.read_back) == (f"heat is off, read back since: {name}", {name: True})
    supervisor_report.write(
        supervisor_report.LastWords("2026-11-03T09:00:00+00:00", "killed", {name: False, "other": True})
    )
    cut = last_words_since(since, utc)
    assert cut.words == f"killed; heat is off, read back: {name}, other"
    assert not cut.failed
