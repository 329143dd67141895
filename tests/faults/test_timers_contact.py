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
