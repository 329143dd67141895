"""The windows of a card with teeth: below every source refused, between sources both named, slips offered."""

from kilnctl.errors import ProfileError
from kilnctl.treatment.steel.sourced_values import BandC
from kilnctl.treatment.steel.steels import Steel, span_c
from kilnctl.treatment.steel.temper.temper_floor import SOUND_FROM_C, cold_warnings, too_cold
from kilnctl.units import c_from_f, f_from_c, say_point, written_in_c

ONE_POINT_K = 20.0  # a source that gives one temperature means about this much to both sides
NEAR_K = 15.0
# Sheets in °F stand on the cards rounded to 5 °C: 1500 °F (816 °C) as 815, 1800 °F (982 °C) as 980.
ROUNDED_K = 3.0
FAR_ABOVE_K = 60.0
FIT_UP_TO_C = 410.0


def slip(at_c: float, low_c: float, high_c: float) -> str:
    """Return the question whether the other unit was meant, nothing where that does not fit either."""
    as_c = f_from_c(at_c)  # written "830 F", meant 830 C
    if low_c - NEAR_K <= as_c <= high_c + NEAR_K:
        return f"; did you mean {as_c:.0f} °C?"
    as_f_c = c_from_f(at_c)  # written "1500 C", meant 1500 F
    if written_in_c(at_c) and low_c - NEAR_K <= as_f_c <= high_c + NEAR_K:
        return f"; did you mean {at_c:.0f} °F ({as_f_c:.0f} °C)?"
    return ""


def hardening_heats_c(steel: Steel) -> tuple[float, float] | None:
    """Return from where to where a card hardens, degC: the sources' span, below what it calls too hot."""
    window = span_c(steel.austenitise)
    if window is None:
        return None
    limits_c = (limit.low_c for limit in steel.too_hot if limit.low_c > window[0])
    return window[0], min([window[1], *limits_c])


def _wide(band: BandC) -> tuple[float, float]:
    slack_k = ONE_POINT_K if band.low_c == band.high_c else ROUNDED_K
    return band.low_c - slack_k, band.high_c + slack_k


def window_warnings(place: str, at_c: float, bands: tuple[BandC, ...], steel: Steel, what: str) -> list[str]:
    """Return where a heat lies outside some or all sources of the card; raises ProfileError far outside."""
    window = span_c(bands)
    if window is None:
        return []
    span = f"{window[0]:.0f}-{window[1]:.0f} °C"
    if at_c < min(_wide(band)[0] for band in bands) and at_c < window[0] - ROUNDED_K:
        raise ProfileError(
            f"{place}: {say_point(at_c)} is below every {what} range on the card of {steel.grade} ({span})"
            f"{slip(at_c, *window)}"
        )
    if at_c > window[1] + FAR_ABOVE_K:
        raise ProfileError(
            f"{place}: {say_point(at_c)} is far above every {what} range on the card of "
            f"{steel.grade} ({span}){slip(at_c, *window)}"
        )
    inside = [band for band in bands if _wide(band)[0] <= at_c <= _wide(band)[1]]
    if not inside:
        said = f"above every {what} range" if at_c > window[1] else f"between the {what} ranges"
        return [f"{said} on the card ({span}){slip(at_c, *window)}"]
    outside = [band for band in bands if band not in inside]
    if not outside:
        return []
    others = ", ".join(dict.fromkeys(_cited(band, steel) for band in outside))
    first = _cited(inside[0], steel)
    return [f"sources disagree: {at_c:.0f} °C is within {first} and outside {others}"]


def _cited(band: BandC, steel: Steel) -> str:
    return f"{band.words.removesuffix(' °C')} ({steel.cite(band)})"


def temper_top_c(steel: Steel) -> float:
    """Return the top of every temper table and stress relief of a card: nothing above it is a temper."""
    tops = [table.row[-1].at_c for table in steel.temper_table]
    return max([*tops, *(step.high_c for step in steel.stress_relief)], default=FIT_UP_TO_C)


def temper_warnings(place: str, at_c: float, steel: Steel, purpose: str) -> list[str]:
    """Return what no table of the card covers. Raises ProfileError for what is no temper at all."""
    lowest_c = min((table.row[0].at_c for table in steel.temper_table), default=SOUND_FROM_C)
    top_c = temper_top_c(steel)
    if too_cold(at_c):
        raise ProfileError(
            f"{place}: {say_point(at_c)} is too cold to temper {steel.grade}: it stays as brittle as quenched"
            f"{slip(at_c, SOUND_FROM_C, top_c)}"
        )
    if at_c > top_c + 0.5:
        raise ProfileError(
            f"{place}: {say_point(at_c)} is above every temper and stress relief of {steel.grade} "
            f"({top_c:.0f} °C){slip(at_c, lowest_c, top_c)}"
        )
    if cold := cold_warnings(at_c):
        return list(cold)
    if at_c < lowest_c - 0.5 and purpose == "temper":
        return [f"below every temper table on the card (from {lowest_c:.0f} °C)"]
    highest_c = max((table.row[-1].at_c for table in steel.temper_table), default=FIT_UP_TO_C)
    if at_c > highest_c + NEAR_K:
        return [
            f"above every temper table on the card (to {highest_c:.0f} °C): no source says how soft it gets"
        ]
    return []


def relief_warnings(place: str, at_c: float, steel: Steel) -> list[str]:
    """Return where a stress relief leaves the card's range. Raises ProfileError where the card has none."""
    window = span_c(steel.stress_relief)
    if window is None:
        if at_c > temper_top_c(steel):
            raise ProfileError(f"{place}: the card of {steel.grade} has no stress relief that hot")
        return []
    span = f"{window[0]:.0f}-{window[1]:.0f} °C, {steel.cite(steel.stress_relief[0])}"
    if at_c > window[1] + NEAR_K:
        raise ProfileError(
            f"{place}: {say_point(at_c)} is above the stress relief of {steel.grade} ({span})"
            f"{slip(at_c, *window)}"
        )
    if at_c > window[1] + 0.5:
        return [f"above the stress relief on the card ({span}){slip(at_c, *window)}"]
    if at_c < window[0] - 0.5:
        return [f"below the stress relief on the card ({span}): it relieves less stress{slip(at_c, *window)}"]
    return []
