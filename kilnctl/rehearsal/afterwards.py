"""What follows the end of a heat: the watch that sends off and looks on, and the truth beside it."""

from dataclasses import dataclass

from kilnctl.readings import Trip
from kilnctl.rehearsal.dry_run import Rehearsal
from kilnctl.runtime.after_heat import AfterHeat

# Looked at from the first second on; for longer where heat still flows.
AFTER_S, FLOWS_S = 120.0, 900.0
FLOWS_J = 1.0


@dataclass(frozen=True, slots=True)
class After:
    """What came after the end, all true: seconds in which heat flowed, and how much hotter it became.

    `told` is what the watch after the heat said, `told_k` how much hotter it was by then.
    """

    heat_s: float
    hotter_k: float
    told: Trip | None
    told_k: float


def watch_after(rehearsal: Rehearsal) -> After:
    """Let the watch after the heat go on for two minutes, or for fifteen where heat still flows."""
    runner, board, clock = rehearsal.runner, rehearsal.board, rehearsal.clock
    hands, start_s = runner.station.hands, clock.now_s()
    newest_c = runner.scan.process.value if runner.scan is not None else None
    after = AfterHeat(start_s, runner.tally.peak_c, newest_c, start_s)
    from_c = hottest_c = board.plant.sensor.junction_c
    heat_s, told, told_k = 0.0, None, 0.0
    while clock.now_s() - start_s < (FLOWS_S if heat_s > AFTER_S / 2 else AFTER_S):
        before_j = board.plant.energy_j
        clock.advance(runner.station.oven.tick_s)
        scan = hands.scan(clock.now_s())
        hands.off()
        heat_s += board.plant.energy_j - before_j > FLOWS_J
        hottest_c = max(hottest_c, board.plant.sensor.junction_c)
        after = after.see(scan)
        if told is None:
            told, told_k = after.trip(scan.at_s, runner.station.oven.limit_c), hottest_c - from_c
    return After(heat_s, hottest_c - from_c, told, told_k)
