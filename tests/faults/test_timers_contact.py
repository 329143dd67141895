"""A contact on the contactor that a timer holds, named as `back`: it shows the timer, never the heat."""

import contextlib

import pytest
from maker import Maker

from kilnctl.clock import RealClock
from kilnctl.commissioning.procedures import DOING
from kilnctl.commissioning.wizard import Shop, do_step
from kilnctl.config.oven import Oven
from kilnctl.devices.bus_registry import Buses
from kilnctl.devices.oven_io import open_oven_io
from kilnctl.devices.probing.probe import Probe
from kilnctl.errors import ConfigError
from kilnctl.logbook.writer import Logbook
from kilnctl.permits.setup_steps import find_step
from kilnctl.tomlfile import loads
from tests.faults.planted.bench import OVEN, TimerBench

pytestmark = [pytest.mark.real_bytes, pytest.mark.slow]
CONTACT = '{ device = "relays", table = "discrete", register = 0 }'
BARE = (
    OVEN[: OVEN.index("[signal.heater_live]")]
    + """
[output.heater]
device = "relays"
table = "coil"
register = 0
[dead_man]
device = "relays"
table = "coil"
register = 1
write = 1
then = 0
drops_after = "5 s"
"""
)
AS_BACK = BARE.replace("[dead_man]", f"back = {CONTACT}\n[dead_man]")
AS_LIVE = BARE.replace("[output.heater]", f"[signal]\nheater_live = {CONTACT}\n[output.heater]")


class OnTheTimersContactor(TimerBench):
    """The timer feeds a contactor of its own; its auxiliary contact is on discrete 0."""

    def _pass(self) -> None:
        super()._pass()
        self.relays.tables["discrete"][0] = int(self._at_s < self._closed_until_s)


def dead_man_test(text: str, bench: TimerBench) -> tuple[bool, str, bool]:
    """Return whether the step passed, what was said, and whether anything heated."""
    text = text.replace("PATH", bench.path)
    oven, clock = loads(text, Oven, ConfigError, "bench-oven.toml"), RealClock()
    maker = Maker(
        answers={"stay on": "5 s"},
        acts={
            "pull the data cable now": lambda: setattr(bench, "cable", False),
            "stay on": lambda: setattr(bench, "cable", True),
        },
    )
    with contextlib.ExitStack() as left:
        left.callback(bench.close)
        book, buses = left.enter_context(Logbook(None)), Buses(clock, opener=bench.opener)
        shop = Shop(
            oven=oven, oven_text=text, person=maker, clock=clock, book=book,
            oven_io=lambda like: open_oven_io(like, clock, 1.0, buses),
            probe=lambda: Probe(oven, clock, bench.opener, range(1, 9)), addresses=range(1, 5),
        )  # fmt: skip
        kept = do_step(shop, find_step("dead-man test"), DOING)
        warm = bench.air_c > bench.room_c
    return kept is not None and kept.passed, maker.text, warm


@pytest.mark.parametrize(("text", "key"), [(AS_BACK, "back"), (AS_LIVE, "heater_live")])
def test_it_is_found_before_any_heat(text: str, key: str) -> None:
    """The dead-man test passed with it, and after the pulse a sound relay was said to be welded."""
    passed, said, warm = dead_man_test(text, OnTheTimersContactor())
    assert not passed
    assert f"{key} shows the timer, not the heat" in said
    assert "leave" in said
    assert not warm


def test_a_contact_that_opens_with_the_heater_s_own_output_passes() -> None:
    passed, said, warm = dead_man_test(AS_BACK, TimerBench())
    assert passed, said
    assert "shows the heat" in said
    assert warm


OWN = BARE + f"back = {CONTACT}\n"


def test_the_timer_s_own_contact_is_the_proof_that_it_drops() -> None:
    """It had no place in the file, and only a person who watched a lamp twice could prove the timer."""
    passed, said, warm = dead_man_test(OWN, OnTheTimersContactor())
    assert passed, said
    assert "dead_man.back" in said
    assert "dropped by itself" in said
    assert "Did the lamp come on" not in said
    assert warm


class NeverMade(TimerBench):
    """Its wire is off."""

    def _pass(self) -> None:
        super()._pass()
        self.relays.tables["discrete"][0] = 0


class TurnedRound(OnTheTimersContactor):
    """The normally closed contact of the timer."""

    def _pass(self) -> None:
        super()._pass()
        self.relays.tables["discrete"][0] ^= 1


class Welded(OnTheTimersContactor):
    """The timer's contact never opens again."""

    def _pass(self) -> None:
        super()._pass()
        self.relays.tables["discrete"][0] = int(self._closed_until_s > 0.0)


@pytest.mark.parametrize(
    ("board", "why"),
    [
        (NeverMade, "never read on"),
        (TurnedRound, "inverted"),
        (Welded, "stays on"),
        (TimerBench, "never read on"),
    ],
)
def test_a_contact_that_does_not_follow_the_timer_is_no_proof(board, why: str) -> None:
    """The plain bench's contact follows heater and timer, and belongs to `back` of the output."""
    passed, said, warm = dead_man_test(OWN, board())
    assert not passed
    assert why in said
    assert not warm


def test_where_the_timer_s_contact_may_stand() -> None:
    oven = loads(OWN.replace("PATH", "/dev/x"), Oven, ConfigError, "bench-oven.toml")
    assert oven.dead_man_seen
    assert any("stuck behind it" in line for line in oven.weaker)
    with pytest.raises(ConfigError, match="one contact"):
        loads(
            OWN.replace("PATH", "/dev/x").replace("[dead_man]", f"back = {CONTACT}\n[dead_man]"),
            Oven, ConfigError, "bench-oven.toml",
        )  # fmt: skip
    with pytest.raises(ConfigError, match="timer relay"):
        loads(OWN.replace("PATH", "/dev/x").replace("then = 0\n", ""), Oven, ConfigError, "bench-oven.toml")
