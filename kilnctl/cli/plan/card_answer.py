"""The lines of a steel card that answer a question put in words: what the guide says of a grade."""

import re
from collections.abc import Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from kilnctl.treatment.steel.sourced_values import Claim
    from kilnctl.treatment.steel.steels import Steel

LADDER = "temper against HRC"
MOST_LINES = 8
# What is told of a steel that is named and of which nothing is asked that its card has a line for.
USUAL = ("austenitise", "quench", LADDER)
USUAL_WORDS = ("harden", "hardness")
LEAST_LETTERS = 5  # of a word that is looked for in the cautions of a card
# A word of a question (as a pattern), and the lines of the card that it asks for.
_ASKS: tuple[tuple[str, tuple[str, ...]], ...] = (
    (r"anneal\w*|soft\w*|spheroidi\w*|subcritical|slow\w*|drill\w*|mill|saw|machin\w*", ("anneal",)),
    (r"anneal\w*|soft\w*|brinell", ("annealed",)),
    (r"normali\w*", ("normalise",)),
    (r"stress\w*|reliev\w*", ("stress relief",)),
    (r"forg\w*", ("forge",)),
    (r"preheat\w*", ("preheat",)),
    (r"harden(s|ed|ing)?|austeniti\w*|soak\w*|heats?|hot|temperature|magnet\w*|long", ("austenitise",)),
    (r"harden(s|ed|ing)?|quench\w*|oil|water|brine|plates?|air|medium|martemper\w*", ("quench",)),
    (r"temper(s|ed|ing)?|hardness|hrc", (LADDER,)),
    (r"temper(s|ed|ing)?", ("temper", "avoid")),
    (r"cold|cryo\w*|sub-?zero|nitrogen|dry-ice", ("cold",)),
    (r"ms|martensit\w*|martemper\w*", ("Ms",)),
    (r"critical|transform\w*|magnet\w*|ac1|ac3|accm", ("Ac1", "Ac3", "Accm")),
    (r"treat\w*|heat-treat\w*|recipe", (*USUAL, "temper")),
    (r"austenite|retained", ("Ms", "too hot", "cold")),
    (r"grain|overheat\w*|hot", ("too hot",)),
    (r"gr[eo]ws?|growth|dimension\w*|size|shrinks?", ("grows",)),
    (r"composition|alloy\w*|carbon|chromium", ("% C", "% Mn", "% Cr", "% Ni", "% Mo", "% V", "% W")),
)


def card_answer(grade: str, words: Sequence[str]) -> str:
    """Return where the card of a grade is, with its lines on what the words ask for, sources named."""
    from kilnctl.treatment.steel.steels import load_steel

    where = f"The card of {grade}: `kilnctl steel {grade}`"
    return "\n".join([where, *(f"- {line}" for line in _lines(load_steel(grade), words))])


def _lines(card: "Steel", words: Sequence[str]) -> list[str]:
    from kilnctl.cli.plan.steel_card_page import card_rows, said_of
    from kilnctl.treatment.steel.sourced_values import PLAIN_SOURCES

    asked = re.findall(r"[\w-]+", " ".join(words).lower().replace("dry ice", "dry-ice"))
    wanted = {name for word in asked for p, names in _ASKS if re.fullmatch(p, word) for name in names}
    wanted = wanted or set(USUAL)
    told = [
        f"{what}: {said_of(value, claim)} ({card.sources.get(claim.source) or PLAIN_SOURCES[claim.source]})"
        for what, value, claim in [*card_rows(card), *_ladders(card)]
        if what in wanted
    ]
    told += [line for line in _cautions(card, asked) if line not in told]
    told += _computed_ms(card) if "Ms" in wanted else []
    if not told:
        return _lines(card, USUAL_WORDS)
    spheroidise = [line for line in told if "spheroidise:" in line]
    if spheroidise and any(word.startswith("spheroidi") for word in asked):
        told = spheroidise
    return told[:MOST_LINES]


def _ladders(card: "Steel") -> "list[tuple[str, str, Claim]]":
    """Return the temper tables as lines of the card."""
    from kilnctl.cli.plan.steel_card_page import span, temper_point

    return [
        (LADDER, ", ".join(f"{temper_point(row.at_c)} {span(*row.hrc)}" for row in table.row), table)
        for table in card.temper_table
    ]


def _cautions(card: "Steel", asked: Sequence[str]) -> list[str]:
    """Return the cautions of a card that speak of what is asked."""
    words = [word for word in asked if len(word) >= LEAST_LETTERS]
    return [
        f"caution: {caution.say} ({card.cite(caution)})"
        for caution in card.caution
        if any(word in caution.say.lower() for word in words)
    ]


def _computed_ms(card: "Steel") -> list[str]:
    """Return where martensite starts after the card's first hardening heat, where that can be computed."""
    from kilnctl.treatment.steel.formulas import MS_BAND_K, after_quench

    at_c = card.austenitise[0].middle_c
    quenched = after_quench(card, at_c)
    if quenched is None:
        return []
    ms = f"{quenched.ms_c - MS_BAND_K:.0f}-{quenched.ms_c + MS_BAND_K:.0f} °C"
    more = f"`kilnctl figure quenched {at_c:.0f}C --steel {card.grade}`"
    return [
        f"Ms from {at_c:.0f} °C: {ms}, {quenched.retained:.0%} austenite left ({quenched.source}); {more}"
    ]


def together(grades: Sequence[str]) -> str:
    """Return the heat from which several grades harden alike, or that there is none; nothing for one."""
    from kilnctl.treatment.steel.steels import load_steel
    from kilnctl.treatment.steel.windows import hardening_heats_c

    cards = [load_steel(grade) for grade in grades]
    windows = [(card, window) for card in cards if (window := hardening_heats_c(card))]
    if len(windows) < 2:
        return ""
    low_c = max(low for _, (low, _) in windows)
    high_c = min([high for _, (_, high) in windows] + [t.low_c for card in cards for t in card.too_hot])
    names = ", ".join(card.grade for card, _ in windows)
    if low_c > high_c:
        each = "; ".join(f"{card.grade} {low:.0f}-{high:.0f} °C" for card, (low, high) in windows)
        return f"No heat hardens {names} alike ({each}): never harden them in one load."
    baths = "separate parts each into its own bath"
    return f"{names} harden alike from {low_c:.0f}-{high_c:.0f} °C, by their cards; {baths}."
