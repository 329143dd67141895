"""Equal time at another temperature: figure equal. The words of a dose are shared with figure dose."""

from collections.abc import Mapping
from typing import TYPE_CHECKING

from kilnctl.cli.figure.figure_answer import FigureAnswer, say_seconds, say_times, show
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
    """Work out how long another temperature takes to temper as much.

    Parameters
    ----------
    temperature
        The temperature of the temper ("218 C", "425F").
    time
        How long ("2h").
    other
        The other temperature.
    steel
        A grade.
    carbon
        Its carbon in per cent, where there is no card.
    as_json
        Print one JSON object.
    """
    from kilnctl.treatment.steel.dose import constants, equal_time_s
    from kilnctl.treatment.steel.temper_floor import cold_warnings

    at_c, hold_s, other_c = temper_c(temperature), time_s(time), temper_c(other)
    card, percent, words = maybe_metal(steel, carbon)
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


def dose_rows(at_c: float, same_s: Mapping[str, float], percent: float | None) -> tuple[tuple[str, str], ...]:
    """Return a dose in words: the likeliest time, the range, and what each constant says."""
    from kilnctl.treatment.steel.dose import constants

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
