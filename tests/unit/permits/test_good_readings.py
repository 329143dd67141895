"""A latch goes only after good readings of the oven itself, heat off with each of them."""

from collections.abc import Callable
from datetime import datetime

import pytest

from kilnctl.clock import VirtualClock
from kilnctl.config import home
from kilnctl.config.home import bundled
from kilnctl.config.oven import load_oven
from kilnctl.errors import DeviceError, RunRefused
from kilnctl.logbook import entries
from kilnctl.logbook.writer import Logbook
from kilnctl.marks import latch
from kilnctl.marks.reset_conditions import GOOD_S
from kilnctl.permits import latch_reset
from kilnctl.readings import Quality, Reading, ResetClass, Scan, Trip

pytestmark = pytest.mark.usefixtures("own_home")
OVEN = load_oven(bundled("ovens") / "tempering-oven.toml")
NOTE = "lead was loose, tightened"


class PlayedOven:
    """An oven's I/O: what was done, in order; `bad` says at which seconds its sensor is open."""

    def __init__(self, bad: Callable[[float], bool] = lambda _: False) -> None:
        self.done: list[str] = []
        self.bad, self.goes_off, self.live, self.there = bad, True, False, True

    def connect(self) -> None:
        self.done.append("connect")
        if not self.there:
            raise DeviceError("nothing answers")

    def scan(self, at_s: float) -> Scan:
        self.done.append("scan")
        process = Reading.bad(Quality.OPEN, "open", at_s) if self.bad(at_s) else Reading.of(25.0, at_s)
        return Scan(at_s, process, False, heater_live=self.live)

    def off(self) -> bool:
        self.done.append("off")
        return self.goes_off

    def close(self) -> None:
        self.done.append("close")


@pytest.fixture
def played(monkeypatch: pytest.MonkeyPatch) -> PlayedOven:
    oven_io = PlayedOven()
    monkeypatch.setattr(latch_reset, "open_oven_io", lambda *_: oven_io)
    one = latch.Latch(OVEN.name, VirtualClock().utc)
    one.arm()
    one.trip(Trip("sensor_lost", "the sensor is open", 0.0))
    return oven_io


def reset(tell: Callable[[str], object] = str) -> latch.Latched:
    return latch_reset.reset_latch(OVEN, NOTE, False, VirtualClock(), 1.0, tell)


def test_the_oven_is_greeted_read_for_half_a_minute_and_switched_off_each_time(played: PlayedOven) -> None:
    assert reset().kind == "sensor_lost"
    looks = round(GOOD_S / OVEN.tick_s)
    assert played.done == ["connect", *["scan", "off"] * looks, "close"]
    assert latch.read(OVEN.name) is None


def test_a_good_second_after_a_bad_one_begins_the_half_minute_again(played: PlayedOven) -> None:
    played.bad = lambda at_s: round(at_s) == 20
    reset()
    assert played.done.count("scan") == round((20 + GOOD_S) / OVEN.tick_s) + 1


@pytest.mark.parametrize("wrong", [{"bad": lambda _: True}, {"goes_off": False}, {"live": True}])
def test_an_oven_that_is_not_well_or_not_off_stays_latched(
    played: PlayedOven, wrong: dict[str, object]
) -> None:
    vars(played).update(wrong)
    with pytest.raises(RunRefused, match="good for 0 s in a row"):
        reset()
    assert latch.read(OVEN.name) is not None
    assert played.done[-1] == "close"


def test_what_broke_the_row_is_said_with_its_count_and_what_to_do(played: PlayedOven) -> None:
    """A newcomer waited two minutes and was told of 6 s and 15 s, without a word of what was wrong."""
    played.bad = lambda at_s: round(at_s) % 20 == 19
    with pytest.raises(RunRefused) as refused:
        reset()
    said = str(refused.value)
    assert "good for" in said
    assert "open (6 times)" in said
    assert "terminals" in said


@pytest.mark.parametrize(
    ("wrong", "said"), [({"goes_off": False}, "off was not read back"), ({"live": True}, "element is live")]
)
def test_an_oven_that_is_not_off_is_said_to_be_so(
    played: PlayedOven, wrong: dict[str, object], said: str
) -> None:
    vars(played).update(wrong)
    with pytest.raises(RunRefused, match=rf"{said} \(\d+ times\).*isolator"):
        reset()


def test_while_it_reads_it_says_every_few_seconds_how_far_it_is(played: PlayedOven) -> None:
    told: list[str] = []
    played.bad = lambda at_s: round(at_s) == 12
    reset(told.append)
    assert len(told) >= 7
    assert any("10 s of 30" in line for line in told)
    assert any("begins again" in line and "open" in line for line in told)


def test_an_oven_that_does_not_answer_stays_latched(played: PlayedOven) -> None:
    played.there = False
    with pytest.raises(DeviceError, match="nothing answers"):
        reset()
    assert latch.read(OVEN.name) is not None
    assert played.done == ["connect", "close"]


def test_bad_readings_are_looked_at_for_two_minutes_and_no_longer(played: PlayedOven) -> None:
    played.bad = lambda _: True
    with pytest.raises(RunRefused):
        reset()
    assert played.done.count("scan") == round(4 * GOOD_S / OVEN.tick_s)


def test_readings_that_become_good_in_the_last_half_minute_still_count(played: PlayedOven) -> None:
    played.bad = lambda at_s: at_s < 3 * GOOD_S
    assert reset().kind == "sensor_lost"


def latched_until_a_pulse(played: PlayedOven) -> datetime:
    """Latch the oven as what asks for a repeated step does; return when."""
    reset()
    played.done.clear()
    one = latch.Latch(OVEN.name, VirtualClock().utc)
    one.arm()
    one.trip(Trip("sensor_moves", "falls", 0.0, reset=ResetClass.B, repeat_step="heater pulse"))
    said = latch.read(OVEN.name)
    assert said is not None
    return datetime.fromisoformat(said.utc)


def test_without_a_logbook_no_step_was_repeated(played: PlayedOven) -> None:
    latched_until_a_pulse(played)
    with pytest.raises(RunRefused, match="heater pulse"):
        reset()
    assert played.done == []


@pytest.mark.parametrize(
    ("oven", "later_s", "passed", "counts"),
    [
        (OVEN.name, 1.0, True, True),
        (OVEN.name, -1.0, True, False),
        (OVEN.name, 0.0, True, False),
        (OVEN.name, 1.0, False, False),
        ("another", 1.0, True, False),
    ],
)
def test_a_step_counts_that_this_oven_passed_after_the_trip(
    played: PlayedOven, oven: str, later_s: float, passed: bool, counts: bool
) -> None:
    at_s = latched_until_a_pulse(played).timestamp() + later_s
    with Logbook(home.logbook_path()) as book:
        entries.add(book, entries.CommissioningStep(oven, "heater pulse", passed), at_s)
    if counts:
        assert reset().kind == "sensor_moves"
    else:
        with pytest.raises(RunRefused, match="heater pulse"):
            reset()
    assert bool(played.done) is counts
