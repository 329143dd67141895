"""What is doubtful about a steel card that somebody wrote: slips of unit, gaps, numbers that disagree."""

from kilnctl.treatment.steel.formulas import andrews_ac1_c, composition
from kilnctl.treatment.steel.hardness import plain_carbon_hrc
from kilnctl.treatment.steel.steels import Steel, TemperTable
from kilnctl.treatment.steel.temper.temper_floor import too_cold
from kilnctl.units import c_from_f, f_from_c, say_point

HARDENS_FROM_PERCENT_C = 0.35
HARDEST_TEMPER_HRC = 68.0
APART_HRC = 3.0
MOST_AUSTENITISE_C = 1230.0
TABLE_S = 5400.0  # a ladder that says no time means one to two hours


def review_card(card: Steel) -> tuple[str, ...]:
    """Return what somebody should look at again, one sentence each; nothing where nothing stands out."""
    found = slips(card)
    if card.carbon < HARDENS_FROM_PERCENT_C:
        found.append(f"{card.carbon:g} % carbon hardly hardens: is it really the carbon?")
    if not card.too_hot:
        found.append("no too_hot: no heat is ever called too hot; write where the grain grows")
    if not card.temper_table:
        found.append("no temper_table: a goal hardness cannot be turned into a temper")
    if not card.spoils and card.kind in ("plain carbon", "low alloy"):
        found.append(
            "no spoils: 230-370 °C can cost toughness in carbon and low-alloy steel (common practice)"
        )
    return tuple(found)


def slips(card: Steel) -> list[str]:
    """Return which numbers of a card can hardly be meant so."""
    return [*_heats(card), *_too_hot(card), *_tables(card)]


def _austenite_starts_c(card: Steel) -> float:
    return andrews_ac1_c(composition(card)) if card.kind in ("plain carbon", "low alloy") else 700.0


def _meant_in_c(read_c: float, start_c: float) -> str:
    """Return the question whether a heat that was written in °F was meant in °C, where that would harden."""
    written = f_from_c(read_c)
    return f"; did you mean {written:.0f} °C?" if start_c < written < MOST_AUSTENITISE_C else ""


def _heats(card: Steel) -> list[str]:
    start_c = _austenite_starts_c(card)
    return [
        f"austenitise {claim.words} lies below the start of austenite ({start_c:.0f} °C): it will not harden"
        f"{_meant_in_c(claim.high_c, start_c)}"
        for claim in card.austenitise
        if claim.high_c < start_c
    ] + [
        f"austenitise {claim.words} is very hot for {card.kind}: did you mean {claim.low_c:.0f} °F "
        f"({c_from_f(claim.low_c):.0f} °C)?"
        for claim in card.austenitise
        if claim.low_c > (1000.0 if card.kind in ("plain carbon", "low alloy") else MOST_AUSTENITISE_C)
    ]


def _too_hot(card: Steel) -> list[str]:
    coldest_c = min(claim.low_c for claim in card.austenitise)
    return [
        f"too hot above {limit.words} lies below the hardening heat, {coldest_c:.0f} °C: a slip of unit?"
        for limit in card.too_hot
        if limit.high_c < coldest_c
    ]


def _tables(card: Steel) -> list[str]:
    found = []
    for table in card.temper_table:
        if too_cold(table.row[0].at_c):
            found.append(
                f"a temper table begins at {say_point(table.row[0].at_c)}, which is no temper: it may stay "
                "as a fact, none is chosen there"
            )
        as_quenched = max((q.as_quenched_hrc[1] for q in card.quench if q.as_quenched_hrc), default=70.0)
        hardest = max(row.hrc[1] for row in table.row)
        if hardest > min(as_quenched, HARDEST_TEMPER_HRC) + 1.0:
            found.append(f"{hardest:g} HRC after a temper is harder than as quenched ({as_quenched:g})")
        found += _hardens_again(card, table)
        found += _against_the_fit(card, table)
    return found


def _hardens_again(card: Steel, table: TemperTable) -> list[str]:
    """Return the hottest row of a temper table where austenite has begun: that is no temper any more."""
    start_c, at_c = _austenite_starts_c(card), max(row.at_c for row in table.row)
    if at_c < start_c:
        return []
    return [
        f"a temper at {say_point(at_c)} lies above the start of austenite ({start_c:.0f} °C): "
        f"it hardens again; did you mean {at_c:.0f} °F ({c_from_f(at_c):.0f} °C)?"
    ]


def _against_the_fit(card: Steel, table: TemperTable) -> list[str]:
    """Return the row of a plain carbon steel that lies furthest from the measured series, where it is far."""
    if card.kind != "plain carbon":
        return []
    apart = [
        (abs(sum(row.hrc) / 2 - fitted), row.at_c, fitted)
        for row in table.row
        if (fitted := plain_carbon_hrc(card.carbon, row.at_c, TABLE_S)) is not None
    ]
    worst, at_c, fitted = max(apart, default=(0.0, 0.0, 0.0))
    if worst <= APART_HRC:
        return []
    return [
        f"at {say_point(at_c)} measured plain carbon steel is near {fitted:.0f} HRC, "
        f"{worst:.0f} from this table"
    ]
