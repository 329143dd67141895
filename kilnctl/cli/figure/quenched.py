"""Dissolved carbon, start of martensite, and what stays austenite: figure quenched."""

from typing import TYPE_CHECKING

from kilnctl.cli.figure.figure_answer import FigureAnswer, say_span_c, show
from kilnctl.cli.figure.inputs import Quantity, heat_c, metal
from kilnctl.cli.terminal.options import Json
from kilnctl.errors import ConfigError, ProfileError, UnitError
from kilnctl.units import say_point

if TYPE_CHECKING:
    from kilnctl.treatment.steel.steels import Steel

COLD_AS_GOOD_K = 10.0  # dry ice, -78 degC, stands for a card's -84 degC (common practice)
UNFITTED = ("high alloy", "stainless")  # no published formula for Ms holds there
SOURCE = (
    "Ms van Bohemen, retained austenite Koistinen and Marburger 1959; dissolved carbon from the card "
    "(computed equilibrium)"
)


def quenched(
    temperature: Quantity | None = None,
    /,
    *,
    steel: str | None = None,
    carbon: float | None = None,
    cold: Quantity | None = None,
    as_json: Json = False,
) -> int:
    """Say what a heat leaves after the quench: dissolved carbon, Ms, retained austenite warm and cold.

    Parameters
    ----------
    temperature
        The hardening heat, with --steel.
    steel
        A grade.
    carbon
        Dissolved carbon in per cent of a plain carbon steel, instead of a heat.
    cold
        The cold treatment's temperature ("-78 C").
    as_json
        Print one JSON object.
    """
    from kilnctl.treatment.steel.formulas import MS_BAND_K, ROOM_C, retained_austenite

    card, percent, words = metal(steel, carbon)
    cold_c = None if cold is None else _cold_c(cold)
    if card is not None and temperature is not None and _beyond(card, heat_c(temperature)):
        return show(_overheated(card, heat_c(temperature), cold_c), as_json)
    if card is not None and card.kind in UNFITTED and temperature is not None:
        return show(_by_the_card(card, heat_c(temperature), cold_c), as_json)
    dissolved, ms_c = _ms(card, percent, temperature)
    low_c, high_c = ms_c - MS_BAND_K, ms_c + MS_BAND_K
    data: dict[str, object] = {"dissolved_carbon_percent": round(dissolved, 3), "ms_c": ms_c}
    rows = [("dissolved", f"{dissolved:.2f} % C"), ("Ms", f"{say_span_c(low_c, high_c)}")]
    for name, at_c in (("room", ROOM_C), ("cold", cold_c)):
        if at_c is not None:
            left = [100.0 * retained_austenite(c, at_c) for c in (low_c, ms_c, high_c)]
            rows.append(
                (f"left at {at_c:.0f} °C", f"{left[1]:.0f} % austenite ({left[2]:.0f}-{left[0]:.0f} %)")
            )
            data[f"retained_at_{name}_percent"] = left[1]
    if card is not None and temperature is not None:
        rows += _too_hot_rows(card, heat_c(temperature))
    heat = "" if temperature is None else f" from {say_point(heat_c(temperature))}"
    return show(
        FigureAnswer(
            asked=f"{words}, quenched{heat}:",
            rows=tuple(rows),
            source=SOURCE,
            assumed="soaked to equilibrium (a short soak dissolves less), no wait; Ms good to 20 K",
            data=data,
            beware=() if cold is None else ("a temper must follow the cold",),
        ),
        as_json,
    )


def _too_hot_rows(card: "Steel", at_c: float) -> list[tuple[str, str]]:
    """Return what a heat above the card's has done and what can be done for the part; none for a sound one.

    None either where the unit slipped, which is asked about elsewhere.
    """
    from kilnctl.treatment.steel.overheated import overheated_words, remedies
    from kilnctl.treatment.steel.windows import ROUNDED_K, hardening_heats_c, slip

    window = hardening_heats_c(card)
    if window is None or at_c <= window[1] + ROUNDED_K or slip(at_c, *window):
        return []
    return [("mishap", overheated_words(card, at_c)), *remedies(card)]


def _beyond(card: "Steel", at_c: float) -> bool:
    """True for a mishap for which nothing can be computed: hotter than what is known of the card."""
    from kilnctl.treatment.steel.formulas import after_quench

    return after_quench(card, at_c) is None and bool(_too_hot_rows(card, at_c))


def _overheated(card: "Steel", at_c: float, cold_c: float | None) -> FigureAnswer:
    from kilnctl.treatment.steel.overheated import source_of

    claims = (card.cite(limit) for limit in card.too_hot)
    return FigureAnswer(
        asked=f"{card.grade} ({card.carbon:g} % C), hardened from {say_point(at_c)}:",
        rows=tuple(_too_hot_rows(card, at_c)),
        source="; ".join(dict.fromkeys((*claims, source_of(card)))),
        assumed="it was quenched, and is not cracked: a cracked part is scrap",
        data={},
        beware=_cold_enough(card, cold_c),
    )


def _cold_c(text: str) -> float:
    """Return the temperature of a cold treatment. Raises UnitError for one that is not below freezing."""
    at_c = heat_c(text)
    if at_c > 0.0:
        raise UnitError(f'--cold "{text}" is no cold treatment: it lies below 0 C (32 F)')
    return at_c


def _cold_enough(card: "Steel", cold_c: float | None) -> tuple[str, ...]:
    """Return what an asked cold is worth beside the card's own."""
    if cold_c is None:
        return ()
    if not card.cold:
        return (f"no cold treatment on the card of {card.grade}: what {cold_c:.0f} °C does is not known",)
    warmest_c = max(claim.high_c for claim in card.cold)
    if cold_c <= warmest_c + COLD_AS_GOOD_K:
        return (f"{cold_c:.0f} °C is as cold as the card asks, {say_point(warmest_c)}",)
    return (
        f"{cold_c:.0f} °C is warmer than the card's {say_point(warmest_c)}: it turns a part of what that "
        "would; no source says how much. Dry ice in alcohol reaches -78 °C",
    )


def _by_the_card(card: "Steel", at_c: float, cold_c: float | None) -> FigureAnswer:
    """Return what the card itself says of the quench of a grade for which no formula holds.

    Raises ProfileError outside its hardening heats.
    """
    from kilnctl.profile.segments import say_goal
    from kilnctl.treatment.steel.windows import window_warnings

    beware = window_warnings("quenched", at_c, card.austenitise, card, "austenitise")
    beware += [caution.say.rstrip(".") for caution in card.caution if caution.at == "harden"]
    ms_c = card.point_c("Ms")
    hrc = [(q.as_quenched_hrc, q) for q in card.quench if q.as_quenched_hrc]
    rows = [
        ("Ms", "no published formula holds, and the card has none" if ms_c is None else say_span_c(*ms_c))
    ]
    rows += [("hardness", f"{say_goal(span)} as quenched") for span, _ in hrc[:1]]
    rows.append(("left", f"austenite: nothing sound can be computed for {card.kind} steel"))
    rows += [("too hot", f"above {limit.low_c:.0f} °C: {limit.note}") for limit in card.too_hot if limit.note]
    colds = (f"{claim.words}{', ' * bool(claim.when)}{claim.when}" for claim in card.cold)
    rows += [("cold", words) for words in dict.fromkeys(colds)]
    claims = [
        *(p for p in card.points if p.point == "Ms"),
        *(q for _, q in hrc[:1]),
        *card.too_hot,
        *card.cold,
    ]
    return FigureAnswer(
        asked=f"{card.grade} ({card.carbon:g} % C), quenched from {say_point(at_c)}:",
        rows=tuple(rows),
        source="; ".join(dict.fromkeys(card.cite(claim) for claim in claims)) or "no source",
        assumed="the card's quench; hotter leaves more austenite: file, tester and a coupon decide",
        data={"ms_low_c": ms_c and ms_c[0], "ms_high_c": ms_c and ms_c[1]},
        beware=(
            *beware,
            *_cold_enough(card, cold_c),
            *(("a temper must follow the cold",) if card.cold else ()),
        ),
    )


def _ms(card: "Steel | None", percent: float, temperature: str | None) -> tuple[float, float]:
    """Return dissolved carbon in per cent and Ms in degC. Raises where nothing honest can be said."""
    from kilnctl.treatment.steel.formulas import after_quench, van_bohemen_ms_c

    if card is None:
        if temperature is not None:
            raise ConfigError("with --carbon the dissolved carbon is given: leave out the heat")
        return percent, van_bohemen_ms_c({"C": percent, "Mn": 0.4, "Si": 0.25})
    if temperature is None:
        raise ConfigError("give the hardening heat, like: quenched 800C --steel 1095")
    found = after_quench(card, heat_c(temperature))
    if found is None:
        raise ProfileError(_unknown(card, heat_c(temperature)))
    return found.carbon, found.ms_c


def _unknown(card: "Steel", at_c: float) -> str:
    if not card.dissolved:
        return f"the card of {card.grade} has no dissolved carbon: ask with --carbon"
    low_c, high_c = card.dissolved[0].at_c, card.dissolved[-1].at_c
    return f"{at_c:.0f} C is outside what is known of {card.grade} ({low_c:.0f}-{high_c:.0f} C)"
