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
