"""A board whose supply goes and comes back between two looks, so that no read times out, over real bytes."""

import time
from collections.abc import Callable

import pytest
from faults.planted.bench import OVEN, Bench

from kilnctl.clock import RealClock
from kilnctl.commissioning.drills.drill_rig import DrillRig
from kilnctl.config.oven import Oven
from kilnctl.devices.oven_io import open_oven_io
from kilnctl.errors import ConfigError
from kilnctl.readings import Reaction
from kilnctl.tomlfile import loads

pytestmark = pytest.mark.real_bytes
TICK_S = 0.25
COIL = '[output.heater]\ndevice = "relays"\ntable = "coil"\nregister = 0\n'
CONTACTOR = '[output.contactor]\ndevice = "relays"\ntable = "coil"\nregister = 1\n'
DEAD_MAN = OVEN[OVEN.index("[dead_man]") :]
LIVE = '[signal.heater_live]\ndevice = "relays"\ntable = "discrete"\nregister = 0\n'
REGISTER = '[output.heater]\ndevice = "relays"\ntable = "holding"\nregister = 1\n'
PARKED = 'kind = "set-point"\nunit = "C"\npark = "0 C"\nlink_loss = "drops"\n'


def without(text: str, *parts: str) -> str:
    for part in parts:
        assert part in text
        text = text.replace(part, "")
    return text


BARE = without(OVEN, COIL, CONTACTOR, DEAD_MAN, LIVE)
KINDS = {
    "coil": without(OVEN, LIVE),
    "pulse": BARE + COIL + 'kind = "pulse"\nholds = "3 s"\n',
    "duty": BARE + REGISTER + 'kind = "duty"\non = 1000\n' + DEAD_MAN,
    "set-point": BARE + REGISTER + PARKED + DEAD_MAN,
}


class Restarting(Bench):
    """All its outputs are off after a restart, which takes no longer than a look; a pulse lasts 3 s."""

    def __init__(self, kind: str) -> None:
        self.kind = kind
        super().__init__(holds_s=3.0 if kind == "pulse" else 5.0)
        self.relays.tables["holding"][1] = 0

    def _wrote(self, table: str, first: int, values: list[int]) -> None:
        super()._wrote(table, first, values)
        if self.kind == "pulse" and values[0]:
            self._fed_until_s = time.monotonic() + self.holds_s

    def restart(self) -> None:
        self.relays.tables["coil"].update(dict.fromkeys(range(4), 0))
        self.relays.tables["holding"].update({0: 0, 1: 0})


def heated(kind: str, restart_at: Callable[[int], bool], ticks: int = 19) -> DrillRig:
    bench = Restarting(kind)
    text = KINDS[kind].replace("PATH", bench.path)
    oven, clock = loads(text, Oven, ConfigError, kind), RealClock()
    oven_io = open_oven_io(oven, clock)
    try:
        oven_io.connect()
        rig = DrillRig(oven, oven_io, clock)
        for tick in range(ticks):
            rig.tick(heat=True, every_s=TICK_S)
            if rig.trip is not None:
                break
            if restart_at(tick):
                bench.restart()
    finally:
        oven_io.close()
        bench.close()
    return rig


@pytest.mark.parametrize("kind", KINDS)
def test_a_board_that_drops_its_output_three_times_ends_the_heat(kind: str) -> None:
    """K1 opened, a second later ON was written again, and nobody was told.

    Where a busy machine loses an answer the board is greeted, off first: a drop just then counts for nobody,
    and another one comes.
    """
    rig = heated(kind, lambda tick: tick % 5 == 1 and tick > 5, ticks=60)
    assert rig.trip is not None
    assert (rig.trip.kind, rig.trip.reaction) == ("board_restarts", Reaction.STOP)
    assert "dropped its output by itself" in rig.trip.reason


@pytest.mark.parametrize("kind", ["coil", "pulse"])
def test_two_drops_and_a_sound_board_do_not(kind: str) -> None:
    assert heated(kind, lambda tick: tick in (6, 11)).trip is None


def test_a_pulse_that_ran_out_because_a_tick_came_late_is_no_drop() -> None:
    def late(tick: int) -> bool:
        if tick in (4, 8, 12):
            time.sleep(3.2)
        return False

    assert heated("pulse", late, ticks=16).trip is None
