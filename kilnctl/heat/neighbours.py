"""What an oven tells the others of its controller, so that each can see whether ovens are crossed."""

from collections.abc import Mapping

from kilnctl.heat.heat_state import Heat, HeatState, noted
from kilnctl.heat.trend import Trend
from kilnctl.interlocks.crossed_ovens import CrossedOvens, FirstAnswer
from kilnctl.readings import Neighbour
from kilnctl.stages import LIVE

ALONE = Neighbour(0.0, 0.0)  # told where no other oven listens
WAITS = "ovens start one at a time: this one waits until the other's own sensor has shown its first heat"


def neighbour_of(now: HeatState, trend: Trend, turns: FirstAnswer) -> Neighbour:
    """Return what the others may know of an oven. Read from their threads: each value as it stands."""
    rise_k, share = trend.value
    over = now.state not in LIVE
    return Neighbour(
        rise_k=rise_k,
        heat=share,
        asked=trend.asked,
        unexplained=None if over else now.unexplained,  # of a cut heat it is the last one, not today's
        gains=trend.gains,
        goes_on=trend.goes_on,
        loses=trend.loses,
        over=over,
        crossed=now.trip is not None and now.trip.kind == CrossedOvens.kind,
        unproven=turns.unproven,
        turn=turns.turn and not over,
        turns=turns.turns,
        rested=trend.rested,
    )


def in_turn(
    heat: Heat, now: HeatState, turns: FirstAnswer, others: Mapping[str, Neighbour], wants: bool, dt_s: float
) -> tuple[HeatState, bool]:
    """Return whether a heat that wants heat may have it beside the others, and the heat that says so."""
    scan, waited = now.scan, turns.waits
    if scan is None or scan.process.value is None:
        return now, wants
    heated = heat.station.heats(now.request)
    may = turns.step(scan.process.value, wants, heated, others, dt_s)
    if turns.waits and not waited:
        now = noted(heat, now, WAITS)
    return now, wants and may
