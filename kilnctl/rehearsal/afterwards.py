"""What follows the end of a heat: the watch that sends off and looks on, and the truth beside it."""

from dataclasses import dataclass

from kilnctl.heat.runner import Runner
from kilnctl.rehearsal.dry_run import Rehearsal

# Looked at from the first second on; for longer where heat still flows.
AFTER_S, FLOWS_S = 120.0, 900.0
FLOWS_J = 1.0


@dataclass(frozen=True, slots=True)
class After:
    """What came after the end, all true: seconds in which heat flowed, and how much hotter it became.

    `told` are the causes that stand at the end of the watch, `fresh` those of them that it has found itself.
    `silent_k` is how much hotter than at the end it truly was before anything of heat that flows was told.
    """

    heat_s: float
    silent_k: float
    told: tuple[str, ...]
    fresh: tuple[str, ...]


# What a person has to be told of heat that cannot be switched off.
STILL_ON = {"heat_without_demand", "rising_while_off", "over_temperature", "off_not_read"}


def watch_after(rehearsal: Rehearsal) -> After:
    """Let the watch after the heat go on for two minutes, or for fifteen where heat still flows."""
    runner, board, clock = rehearsal.runner, rehearsal.board, rehearsal.clock
    start_s, before = clock.now_s(), _kinds(runner)
    from_c = hottest_c = board.plant.sensor.junction_c
    heat_s = silent_k = 0.0
    while clock.now_s() - start_s < (FLOWS_S if heat_s > AFTER_S / 2 else AFTER_S):
        before_j = board.plant.energy_j
        clock.advance(runner.heat.station.oven.tick_s)
        oven_io = runner.heat.station.oven_io
        runner.watch_cut(oven_io.scan(clock.now_s()), oven_io.off())
        heat_s += board.plant.energy_j - before_j > FLOWS_J
        hottest_c = max(hottest_c, board.plant.sensor.junction_c)
        if STILL_ON.isdisjoint(_kinds(runner)):
            silent_k = hottest_c - from_c
    told = _kinds(runner)
    return After(heat_s, silent_k, told, tuple(kind for kind in told if kind not in before))


def _kinds(runner: Runner) -> tuple[str, ...]:
    now = runner.now
    return () if now.trip is None else tuple(trip.kind for trip in (now.trip, *now.trip_later))
