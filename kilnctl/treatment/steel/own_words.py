"""What is said of the shop's own results: the answer with its error and counts, and who lies outside."""

from collections.abc import Sequence

from kilnctl.profile.segments import say_goal
from kilnctl.treatment.steel.own_results import LEAST_RESULTS, OwnFit, OwnResult, OwnTemper, RestsOn
from kilnctl.units import say_point


def say_counts(counts: RestsOn) -> str:
    """Return what an answer rests on."""
    parts = [f"{counts.own} own results", f"{counts.table} rows of the card's tables"]
    parts += [f"{counts.series} rows of the published series"] if counts.series else []
    return ", ".join(parts)


def say_answer(own: OwnTemper, goal: tuple[float, float], counts: RestsOn) -> str:
    """Return the temper for a goal by the shop's own results."""
    return (
        f"for {say_goal(goal)} by your own results {say_point(own.at_c)}, between {own.low_c:.0f} and "
        f"{own.high_c:.0f} °C, ± {own.error_hrc:.1f} HRC ({say_counts(counts)})"
    )


def say_too_few(results: Sequence[OwnResult]) -> str:
    """Return what the shop measured so far, where it is too little to move an answer; nothing without any."""
    if not results:
        return ""
    said = ", ".join(f"{result.hrc:.1f} HRC after {say_point(result.at_c)}" for result in results)
    return f"{said}: not used yet, your own results count from {LEAST_RESULTS} on"


def outside_lines(fit: OwnFit) -> tuple[str, ...]:
    """Return one sentence for each result that lies far from all others."""
    return tuple(
        f"{result.part}: {result.hrc:.1f} HRC after {result.at_c:.0f} °C is {apart:+.1f} from what your "
        "others say, and was not used: look at quench, soft skin and tester, and test it again"
        for result, apart in fit.outside
    )
