"""tune --cooling: the learning heat and the cooling recorded after it, as one record."""

import math
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import pytest

from kilnctl.care.oven_knowledge import known_of
from kilnctl.cli.oven import tune
from kilnctl.cli.oven.tune import with_cooling
from kilnctl.config.home import bundled, logbook_path
from kilnctl.config.oven import load_oven
from kilnctl.errors import RunRefused
from kilnctl.logbook.entries import LearnedOven, OvenChange, add
from kilnctl.logbook.readers import Reader
from kilnctl.logbook.writer import Logbook
from kilnctl.model.nameplate import nameplate
from tests.heats import START_UTC, header, samples

OVEN = load_oven(bundled("ovens") / "tempering-oven.toml")
HEATED, COOLED = 200, 400
FIRST = samples(1)[0]


def kept(book: Logbook, begins_s: float, readings: list[float], on: bool, **over: object) -> int:
    run = book.start_run(header(started_utc=START_UTC + begins_s, **over))
    rows = [
        FIRST._replace(elapsed_s=float(i), utc_s=START_UTC + begins_s + i, process_c=c, heat_on=on)
        for i, c in enumerate(readings)
    ]
    book.append(run, rows, [])
    book.finish(run, "stopped", {}, START_UTC + begins_s + len(readings))
    return run


@pytest.fixture
def joined(own_home: Path):
    """A heat-up from 20 to 219 degC, and a cooling that begins some seconds later."""

    def join(later_s: float, lowest_c: float = 40.0, on: bool = False, **over: object):
        up = [20.0 + i for i in range(HEATED)]
        down = [lowest_c + (219.0 - lowest_c) * math.exp(-i / 60.0) for i in range(COOLED)]
        with Logbook(logbook_path()) as book:
            heated = kept(book, 0.0, up, True)
            cooled = kept(book, HEATED + later_s, down, on, **over)
        return with_cooling(OVEN, heated, cooled)

    return join


def test_the_minutes_between_are_bridged_without_heat(joined) -> None:
    process_c, heat, dt_s = joined(100.0)
    assert dt_s == 1.0
    assert len(process_c) == len(heat) == pytest.approx(HEATED + 100 + COOLED, abs=3)
    assert sum(heat) == pytest.approx(HEATED, abs=2)
    assert process_c[-1] < 45.0
    assert max(abs(a - b) for a, b in pairwise(process_c)) < 4.0


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"later_s": 1900.0}, "half an hour"),
        ({"later_s": -300.0}, "half an hour"),
        ({"later_s": 60.0, "lowest_c": 150.0}, "hand-warm"),
        ({"later_s": 60.0, "on": True}, "was heated"),
        ({"later_s": 60.0, "oven": "another"}, "not both"),
    ],
)
def test_what_is_no_cooling_after_it_is_refused(joined, given, words) -> None:
    with pytest.raises(RunRefused, match=words):
        joined(**given)


def test_what_heats_found_changed_still_holds_of_the_oven_whose_cooling_is_learned(
    joined, monkeypatch: pytest.MonkeyPatch
) -> None:
    joined(100.0)
    model = replace(nameplate(OVEN), learned=True)
    with Logbook(logbook_path()) as book:
        number = add(book, LearnedOven(OVEN.name, model.to_dict(), 1), START_UTC + 1000.0, run=1)
        add(book, OvenChange(OVEN.name, number, lag=1.3, power=0.9, run=1), START_UTC + 2000.0)
    monkeypatch.setattr(tune, "learn_cooling", lambda oven, learned, *_: replace(learned, cools=learned))
    assert tune.tune("tempering-oven", cooling=2, yes=True) == 0
    with Reader(logbook_path()) as reader:
        known = known_of(reader, OVEN)
    assert known is not None
    assert known.model.cools is not None
    assert known.change is not None
    assert (known.change.lag, known.change.power) == (1.3, 0.9)
