"""The lines of a steel card that answer a question put in words: what the guide says of a grade."""

import re
from collections.abc import Sequence
from typing import TYPE_CHECKING

from kilnctl.guide.asked_numbers import AskedHeat, SteelsAndHeats, asked_numbers
from kilnctl.units import c_from_f

if TYPE_CHECKING:
    from kilnctl.treatment.asked_heat import Step
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
# A word of a question (as a pattern), and the step that a heat beside it is meant for.
_STEPS: "tuple[tuple[str, Step], ...]" = (
    (r"harden(s|ed|ing)?|quench\w*|austeniti\w*", "harden"),
    (r"normali\w*", "normalise"),
    (r"anneal\w*|spheroidi\w*", "anneal"),
    (r"reliev\w*|relief", "stress relief"),
    (r"temper(s|ed|ing)?", "temper"),
    (r"preheat\w*", "preheat"),
    (r"forg\w*", "forge"),
)
_OTHER_THINGS = (
    r"oil|water|brine|salt|bath|plates?|couple|sensor|probe|brass|bronze|copper|aluminium|aluminum"
)
COOLEST_ASKED_C, HOTTEST_ASKED_C = 100.0, 1400.0  # of a heat that is held against a card
BATHS_C = 300.0  # a heat below it beside a word for a bath is the bath's
MOST_HEATS = 4


def cards_say(words: Sequence[str]) -> list[str]:
    """Return what the cards of the steels say that a question names: of its heats first, then their lines."""
    from kilnctl.config.home import known
    from kilnctl.treatment.steel.grade_names import card_of

    cards = known("steels")

    def grade_of(word: str) -> str | None:
        card = card_of(word, cards)
        return card.stem if card else None

    asked = asked_numbers(" ".join(words), grade_of)
    alike = together(asked.grades)
    lines = [card_answer(grade, words) for grade in asked.grades]
    return [text for text in (_heats_say(asked, words), alike, *lines) if text]


def _heats_say(asked: SteelsAndHeats, words: Sequence[str]) -> str:
    """Return how each heat of a question lies to the card of each steel; nothing where none is named."""
    from kilnctl.treatment.asked_heat import compared, nearest_step
    from kilnctl.treatment.steel.steels import load_steel

    plain = re.findall(r"[\w-]+", " ".join(words).lower())
    steps = tuple(step for pattern, step in _STEPS if any(re.fullmatch(pattern, word) for word in plain))
    baths = any(re.fullmatch(_OTHER_THINGS, word) for word in plain) and "temper" not in steps
    said = []
    for grade in asked.grades:
        for heat in asked.heats[:MOST_HEATS]:
            if str(int(heat.value)) == grade:
                continue
            card = load_steel(grade)
            for at_c, lead in _readings(heat):
                if baths and at_c < BATHS_C:
                    continue
                said.append(f"- {lead}{compared(card, at_c, nearest_step(card, at_c, steps))}")
    doubts = [f"{name} may be the steel or a heat; both are answered." for name in asked.doubtful]
    doubts += [
        f"{name} is taken for a heat. If the steel {name} is meant: `kilnctl guide {name} and "
        f"{' and '.join(asked.grades)}`"
        for name in dict.fromkeys(asked.not_grades)
    ]
    return "\n".join([*doubts, *said, *_two_tempers(asked, plain)]) if said else ""


def _two_tempers(asked: SteelsAndHeats, plain: Sequence[str]) -> list[str]:
    """Return which command answers how hard a part is after a temper that ran away and another one."""
    again = re.compile(r"second|twice|again|another|ran|runaway|overshot|overshoot|both|now")
    if not (asked.grades and any(map(again.fullmatch, plain)) and any(w.startswith("temper") for w in plain)):
        return []
    more = f'--then "205C 2h" --steel {asked.grades[0]}`, with your heats and times'
    return [f"- how hard after both tempers, and what is lost: `kilnctl figure hardness 260C 40min {more}"]


def _readings(heat: AskedHeat) -> list[tuple[float, str]]:
    """Return a heat in degC with what to say before it; without a unit both that it can be."""
    as_c, as_f = (heat.value, "C"), (c_from_f(heat.value), "F")
    meant = [
        (c, unit)
        for c, unit in (as_c, as_f)
        if COOLEST_ASKED_C <= c <= HOTTEST_ASKED_C and heat.unit in ("", unit)
    ]
    return [(c, "" if heat.unit else f"{heat.value:g} read as °{unit}, ") for c, unit in meant]


def card_answer(grade: str, words: Sequence[str]) -> str:
    """Return where the card of a grade is, with its lines on what the words ask for, sources named."""
    from kilnctl.treatment.steel.steels import load_steel

    where = f"The card of {grade}: `kilnctl steel {grade}`"
    return "\n".join([where, *(f"- {line}" for line in _lines(load_steel(grade), words))])


def _lines(card: "Steel", words: Sequence[str]) -> list[str]:
    from kilnctl.cli.plan.steel.steel_card_page import card_rows, said_of
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
    from kilnctl.cli.plan.steel.steel_card_page import span, temper_point

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
