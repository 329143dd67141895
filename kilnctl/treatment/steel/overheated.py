"""What to do with a part that was hardened too hot: retained austenite can be turned, a coarse grain not.

Each temper of a high-alloy steel decomposes about half of the austenite that is left, and cold turns some of
it before that (a published article on D2 and its mishaps; handbook practice). The rest is common practice.
"""

from kilnctl.treatment.steel.steels import Steel, span_c
from kilnctl.treatment.steel.windows import ROUNDED_K, hardening_heats_c
from kilnctl.units import say_point

BURNT_FROM_C = 1250.0
TURNS_C = (510.0, 540.0)
COARSE_K = 30.0  # so far above the card a short soak is enough (common practice, no single source)


def overheated_words(steel: Steel, at_c: float) -> str:
    """Return what so hot a heat has done to a part, and why it tests soft."""
    _, top_c = hardening_heats_c(steel) or (at_c, at_c)
    over = f"{at_c - top_c:.0f} K above the hardening heats of the card ({top_c:.0f} °C)"
    _, highest_c = span_c(steel.austenitise) or (at_c, at_c)
    if at_c <= highest_c + ROUNDED_K:
        over += f", though one of its sources goes to {highest_c:.0f} °C"
    if at_c >= BURNT_FROM_C:
        return f"{over}: an edge or corner that sparked or melted is burnt and is scrap"
    if _alloyed(steel):
        return f"{over}: much austenite stays, so it tests soft; the grain may be coarse as well"
    grain = "the grain is coarse" if at_c > top_c + COARSE_K else "the grain begins to grow"
    return f"{over}: {grain}, and more austenite stays"


def source_of(steel: Steel) -> str:
    """Return who says what to do."""
    return (
        "a published article on D2 and its mishaps; common practice" if _alloyed(steel) else "common practice"
    )


def remedies(steel: Steel) -> tuple[tuple[str, str], ...]:
    """Return what can be done for the part itself, in the order to try it, as (when, what)."""
    again = (
        "anneal by the card first"
        if steel.do_not_normalise is not None
        else "normalise in falling heats first"
    )
    grain = (
        "or else",
        "break a coupon of the same heat: coarse, glittering grain is cured by no temper and no cold; "
        f"{again}, then harden again at the card's heat",
    )
    if not _alloyed(steel):
        return (("now", "temper it at once, against cracks"), grain)
    cold = next(iter(steel.cold), None)
    how = f" ({cold.words}, {steel.cite(cold)})" if cold else ""
    found = [("now", f"not tempered yet: cold within hours{how}, then temper; after a temper it does little")]
    if not any(band.holds(TURNS_C[0]) or band.holds(TURNS_C[1]) for band in steel.spoils):
        hot = f"{say_point(TURNS_C[0])} to {say_point(TURNS_C[1])}"
        found.append(
            (
                "or",
                f"temper at {hot} two or three times, hand-warm between: each turns about half of the "
                "austenite that is left. It may come out harder than before (secondary hardening): "
                "measure after each",
            )
        )
    return (*found, grain)


def _alloyed(steel: Steel) -> bool:
    return steel.kind in ("high alloy", "stainless")
