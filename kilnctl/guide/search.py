"""Find the passages of the guide that answer a question, put in a maker's own words."""

import re
import sqlite3
from collections.abc import Iterator, Sequence
from contextlib import closing
from dataclasses import astuple, dataclass
from itertools import pairwise

from kilnctl.guide.pages import Page, pages

MOST_FOUND = 4
# What topic and title say weighs more than what a heading says, and that more than the passage. The first
# cell of a row says what the row is about: it weighs as a heading of its own.
WEIGHTS = (3.0, 3.0, 2.0, 1.0, 2.0)
INDEX = """CREATE VIRTUAL TABLE guide USING fts5(
    topic, title, heading, text, lead, heads UNINDEXED, counts UNINDEXED, tokenize='porter')"""
RANKED = """SELECT topic, title, heading, text, heads FROM guide WHERE guide MATCH ?
    ORDER BY bm25(guide, ?, ?, ?, ?, ?) * counts LIMIT ?"""
# A key of a file answers less than a page that says what to do; what stands in bold is what matters most.
BESIDE = 3  # two words of a question that stand so near each other in a passage count as a further word
GLOSSARY = "glossary"
OF_FILES, KEYS_COUNT, BOLD_COUNTS = ("connect", "reference"), 0.5, 1.7
SAID_TOO = (
    {"warp", "bent", "bow", "bend"},
    {"knife", "blade"},
    {"fire", "flame", "burn", "burning"},
    {"phone", "telephone"},
    {"watchdog", "dead-man"},
    {"overnight", "unattended", "alone", "bed", "sleep"},
    {"cable", "line", "wire"},
    {"probe", "sensor", "thermocouple", "couple"},
    {"crash", "freeze", "hang", "fail"},
    {"ssr", "solid-state"},
    {"outage", "power"},
    {"several", "batch", "load", "four", "five", "six", "seven", "eight", "nine", "ten", "dozen"},
    {"decarb", "decarburised", "decarburisation", "decarburization"},
    {"retemper", "re-temper"},
    {"soften", "softer"},
    {"axe", "hatchet", "tomahawk"},
    {"dizzy", "headache", "faint"},
    {"rcd", "gfci", "ground-fault", "earth-leakage"},
    {"san-mai", "sanmai", "laminate", "laminated"},
    {"reversed", "swapped", "backwards"},
    {"overshot", "overshoot", "overshooting"},
    {"broke", "broken"},
    {"crack", "tink"},
    {"melted", "burnt", "brown"},
    {"scissors", "shears"},
)
# Endings that turn when one becomes many: a knife, knives; a leaf, leaves. No stemmer of plain endings tells.
ONE_AND_MANY = (("ife", "ives"), ("af", "aves"), ("lf", "lves"))
# Examples of files and commands.
EXAMPLES = re.compile(r"^```.*?^```", re.MULTILINE | re.DOTALL)
# Words that say nothing of what is asked.
EMPTY = {
    "a", "about", "after", "all", "am", "an", "and", "any", "are", "as", "at", "be", "because",
    "before", "but", "by", "can", "cannot", "could", "did", "do", "does", "for", "from", "get", "go",
    "goes", "had", "has", "have", "he", "how", "i", "if", "in", "into", "is", "it", "its", "kilnctl",
    "make", "many", "may", "me", "mean", "means", "mine", "much", "must", "my", "no", "not", "of", "off",
    "on", "one", "or", "our", "out", "over", "shall", "should", "so", "still", "than", "that", "the", "their",
    "them", "then", "there", "they", "this", "to", "too", "up", "use", "was", "we", "went", "were", "what",
    "when", "where", "which", "who", "why", "will", "with", "would", "you", "your",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Passage:
    """One paragraph, list item or row of a table, and where in the guide it stands."""

    topic: str
    title: str
    heading: str
    text: str
    heads: str = ""

    def told(self) -> str:
        """Return it as a paragraph; a row cell by cell, each behind the head of its column."""
        if not self.heads:
            return self.text
        (head, first), *others = zip(_cells(self.heads), _cells(self.text), strict=False)
        return f"**{head}: {first}**" + "".join(f"\n- {head}: {cell}" for head, cell in others)


def search(words: Sequence[str]) -> list[Passage]:
    """Return what answers a question best, best first; nothing where the guide does not speak of it."""
    asked = [word for word in re.findall(r"[\w-]+", " ".join(words).lower()) if word not in EMPTY]
    if not asked:
        return []
    terms = {other for word in asked for other in _said_too(word)}
    beside = [f'NEAR("{one}" "{other}", {BESIDE})' for one, other in pairwise(asked)]
    query = " OR ".join([*(f'"{term}"' for term in sorted(terms)), *beside])
    with closing(sqlite3.connect(":memory:")) as index:
        index.execute(INDEX)
        index.executemany("INSERT INTO guide VALUES (?, ?, ?, ?, ?, ?, ?)", _rows())
        return [Passage(*row) for row in index.execute(RANKED, (query, *WEIGHTS, MOST_FOUND))]


def _rows() -> Iterator[tuple[str | float, ...]]:
    """Yield the guide passage by passage, with what each counts: keys of files less than what to do."""
    for page in pages():
        for passage in _passages(page):
            *said, heads = astuple(passage)
            lead = _cells(passage.text)[0] if heads else ""
            yield (*said, lead, heads, _counts(page, passage))


def _counts(page: Page, passage: Passage) -> float:
    if passage.heads and page.section in OF_FILES and page.topic != GLOSSARY:
        return KEYS_COUNT
    return BOLD_COUNTS if passage.text.startswith("**") else 1.0


def _passages(page: Page) -> Iterator[Passage]:
    heading, heads = page.title, ""
    blocks = re.split(r"\n\s*\n|\n(?=[|#]|- |\d+\. )", EXAMPLES.sub("", page.text()))
    for block in map(str.strip, blocks):
        if block.startswith("#"):
            heading = block.lstrip("# ")
        if not block.startswith("|"):
            heads = ""
        elif not heads:
            heads = block
            continue
        if re.search(r"\w", block) and not block.startswith("#"):
            yield Passage(page.topic, page.title, heading, block, heads)


def _cells(row: str) -> list[str]:
    return [cell.strip() for cell in row.strip("|").split("|")]


def _said_too(word: str) -> set[str]:
    """Return a word, its one and many, and what makers say for it."""
    stem = word.removesuffix("s").removesuffix("ed")
    said = {word, stem, *_one_and_many(word)}
    return {word, *_one_and_many(word)}.union(*(group for group in SAID_TOO if said & group))


def _one_and_many(word: str) -> set[str]:
    turned = [(a, b) for one, many in ONE_AND_MANY for a, b in ((one, many), (many, one))]
    return {word.removesuffix(a) + b for a, b in turned if word.endswith(a)}
