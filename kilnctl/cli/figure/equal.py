"""Equal time at another temperature: figure equal. The words of a dose are shared with figure dose."""

import re
from collections.abc import Mapping
from typing import TYPE_CHECKING

from kilnctl.cli.figure.figure_answer import FigureAnswer, say_seconds, say_span_c, say_times, show
from kilnctl.cli.figure.inputs import Quantity, maybe_metal, temper_c, time_s
from kilnctl.cli.terminal.options import Json
from kilnctl.units import say_duration, say_point

if TYPE_CHECKING:
    from kilnctl.treatment.steel.steels import Steel

SOURCE = (
    "Hollomon and Jaffe 1945: equal T(C + log t), T in kelvin, t in hours; their measured pairs ask for "
    "C = 12 to 16, the usual 20 is at the far end"
)


NEAR_SECONDARY_C = 370.0
_TIME = re.compile(r"\s*\d.*(h|hours?|min|s)\s*", re.IGNORECASE)


def equal(
    temperature: Quantity,
    time: Quantity,
    other: Quantity,
    /,
    *,
    steel: str | None = None,
    carbon: float | None = None,
    as_json: Json = False,
) -> int:
    """Work out how long another temperature takes to temper as much, or how hot another time must be.

    Parameters
    ----------
    temperature
        The temperature of the temper ("218 C", "425F").
    time
        How long ("2h").
    other
        The other temperature; or the other time ("1h"): how hot must it be then?
    steel
        A grade.
    carbon
        Its carbon in per cent, where there is no card.
    as_json
        Print one JSON object.
    """
    from kilnctl.treatment.steel.temper.dose import constants, equal_time_s
    from kilnctl.treatment.steel.temper.temper_floor import cold_warnings

    at_c, hold_s = temper_c(temperature), time_s(time)
    card, percent, words = maybe_metal(steel, carbon)
    if _TIME.fullmatch(other):
        return show(_how_hot(at_c, hold_s, time_s(other), percent, words), as_json)
    other_c = temper_c(other)
    found = {name: equal_time_s(at_c, hold_s, other_c, c) for name, c in constants(percent).items()}
    return show(
        FigureAnswer(
            asked=f"{say_duration(hold_s)} at {say_point(at_c)}{words and ', '}{words}, tempers as much as:",
            rows=dose_rows(other_c, found, percent),
            source=SOURCE,
            assumed="the part itself is at both temperatures",
            data=dose_data(found),
            beware=secondary(card, max(at_c, other_c)) + cold_warnings(min(at_c, other_c)),
        ),
        as_json,
    )


def _how_hot(at_c: float, hold_s: float, other_s: float, percent: float | None, words: str) -> FigureAnswer:
    """Return which temperature tempers as much in another time. Raises UnitError above a temper's heat."""
    from kilnctl.treatment.steel.temper.dose import constants, equal_temperature_c
    from kilnctl.treatment.steel.temper.temper_floor import cold_warnings

    found = {c: equal_temperature_c(at_c, hold_s, other_s, each) for c, each in constants(percent).items()}
    likely_c = found["measured"]
    temper_c(f"{max(found.values())} C")
    said = "; ".join(f"{found[name]:.0f} °C (C = {c:.3g}, {name})" for name, c in constants(percent).items())
    return FigureAnswer(
        asked=f"{say_duration(hold_s)} at {say_point(at_c)}{words and ', '}{words}, tempers as much as:",
        rows=(
            (f"{say_duration(other_s)} at", say_point(likely_c)),
            ("range", say_span_c(min(found.values()), max(found.values()))),
            ("each", said),
        ),
        source=SOURCE,
        assumed="the part itself is at both temperatures; an hour through is the least for a temper",
        data={"likely_c": likely_c, "low_c": min(found.values()), "high_c": max(found.values())},
        beware=cold_warnings(min(at_c, likely_c)),
    )


def dose_rows(at_c: float, same_s: Mapping[str, float], percent: float | None) -> tuple[tuple[str, str], ...]:
    """Return a dose in words: the likeliest time, the range, and what each constant says."""
    from kilnctl.treatment.steel.temper.dose import constants

    said = [f"{say_seconds(same_s[name])} (C = {c:.3g}, {name})" for name, c in constants(percent).items()]
    return (
        (f"at {say_point(at_c)}", say_seconds(same_s["measured"])),
        ("range", say_times(min(same_s.values()), max(same_s.values()))),
        ("each", "; ".join(said)),
    )


def dose_data(same_s: Mapping[str, float]) -> dict[str, object]:
    """Return a dose in numbers."""
    by_name = {f"{name.replace(' ', '_')}_s": seconds for name, seconds in same_s.items()}
    return {
        "likely_s": same_s["measured"],
        "low_s": min(same_s.values()),
        "high_s": max(same_s.values()),
        **by_name,
    }


def secondary(card: "Steel | None", hottest_c: float) -> tuple[str, ...]:
    """Return the warning for grades that harden again in a hot temper, where one is that hot."""
    if card is None or card.kind not in ("high alloy", "stainless") or hottest_c <= NEAR_SECONDARY_C:
        return ()
    return (
        f"{card.grade} is {card.kind}: no such rule holds near its secondary hardening (above about 400 °C)",
    )
