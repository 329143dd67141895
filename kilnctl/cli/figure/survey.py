"""What the readings of a uniformity survey say: figure survey."""

import re
from typing import TYPE_CHECKING

from kilnctl.cli.figure.figure_answer import FigureAnswer, say_difference, say_fine, show
from kilnctl.cli.figure.inputs import Quantity, heat_c
from kilnctl.cli.terminal.options import Json
from kilnctl.errors import ConfigError
from kilnctl.units import say_point

if TYPE_CHECKING:
    from kilnctl.treatment.steel.steels import Steel

FAR_K = 100.0


def survey(set_to: Quantity, /, *readings: Quantity, steel: str | None = None, as_json: Json = False) -> int:
    """Work out spread, mean and offset of a survey from its readings; nothing is stored.

    Parameters
    ----------
    set_to
        What the oven was set to ("800 C").
    readings
        What each place read, corrected ("796 C" "803 C" ...); a bare number has the unit of the setting.
    steel
        A grade: say whether its card has the coldest and the hottest place for hardening, or for a temper.
    as_json
        Print one JSON object.
    """
    from kilnctl.care.survey import LEAST_POSITIONS, orientation

    goal_c, found_c = heat_c(set_to), [heat_c(_with_unit(text, set_to)) for text in readings]
    if len(found_c) < 2:
        raise ConfigError('a survey has two readings or more: 800C "796 C" "803 C"')
    far = next((c for c in found_c if abs(c - goal_c) > FAR_K), None)
    if far is not None:
        raise ConfigError(f"{far:.0f} C lies more than {FAR_K:.0f} K from {goal_c:.0f} C: a slip of the pen?")
    low_c, high_c, mean_c = min(found_c), max(found_c), sum(found_c) / len(found_c)
    low_k, high_k = low_c - goal_c, high_c - goal_c
    few = f"{len(found_c)} places: a survey wants {LEAST_POSITIONS} or more, in the corners and the middle"
    return show(
        FigureAnswer(
            asked=f"{len(found_c)} readings, the oven set to {say_point(goal_c)}:",
            rows=(
                ("coldest", f"{say_fine(low_c)}, {low_k:+.1f} K ({low_k * 1.8:+.1f} °F) from the setting"),
                ("hottest", f"{say_fine(high_c)}, {high_k:+.1f} K ({high_k * 1.8:+.1f} °F)"),
                ("spread", f"{say_difference(high_c - low_c)}, or ± {say_difference((high_c - low_c) / 2)}"),
                ("mean", f"{say_fine(mean_c)}, {mean_c - goal_c:+.1f} K from the setting"),
                ("band", orientation(low_k, high_k)),
                *(() if steel is None else _by_card(steel, goal_c, low_c, high_c)),
            ),
            source="arithmetic; class bands of SAE AMS 2750F, as two furnace builders print its table",
            assumed=(
                "corrected readings of a settled oven; the band counts from the setting, not from the mean. "
                "`kilnctl care survey` keeps a survey with its oven"
            ),
            data={
                "low_k": low_k,
                "high_k": high_k,
                "spread_k": high_c - low_c,
                "half_spread_k": (high_c - low_c) / 2,
                "mean_c": mean_c,
            },
            beware=(few,) if len(found_c) < LEAST_POSITIONS else (),
        ),
        as_json,
    )


def _with_unit(reading: str, set_to: str) -> str:
    """Return a reading with a unit: a bare number has that of the setting."""
    return f"{reading} {set_to.strip()[-1]}" if re.fullmatch(r"\s*[+-]?\d+(\.\d+)?\s*", reading) else reading


def _by_card(grade: str, goal_c: float, low_c: float, high_c: float) -> tuple[tuple[str, str], ...]:
    """Return what a part in the coldest and in the hottest place gets, by its card, for the setting's step.

    Raises ProfileError for an unknown grade.
    """
    from kilnctl.treatment.asked_heat import compared, usual_step
    from kilnctl.treatment.steel.steels import load_steel

    card, step = load_steel(grade), usual_step(goal_c)
    found = ("cold place", compared(card, low_c, step)), ("hot place", compared(card, high_c, step))
    return found if step != "temper" else (*found, *_apart(card, low_c, high_c))


def _apart(card: "Steel", low_c: float, high_c: float) -> tuple[tuple[str, str], ...]:
    """Return how many HRC a temper differs from the cold place to the hot one, by each source of both."""
    from kilnctl.treatment.steel.hardness import TWO_TEMPERS_S, expected_hrc

    hot = {e.source: e.low_hrc + e.high_hrc for e in expected_hrc(card, high_c, TWO_TEMPERS_S)}
    cold = {e.source: e.low_hrc + e.high_hrc for e in expected_hrc(card, low_c, TWO_TEMPERS_S)}
    softer = [(cold[source] - hot[source]) / 2 for source in cold if source in hot]
    if not softer:
        return ()
    low, high = f"{min(softer):.1f}", f"{max(softer):.1f}"
    return (("hot is softer", f"by {low if low == high else f'{low} to {high}'} HRC, two tempers of 2 h"),)
