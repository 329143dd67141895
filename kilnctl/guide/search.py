"""Find the passages of the guide that answer a question, put in a maker's own words."""

import re
import sqlite3
from collections.abc import Iterator, Sequence
from contextlib import closing
from dataclasses import astuple, dataclass

from kilnctl.guide.pages import pages

MOST_FOUND = 4
# What topic and title say weighs more than what a heading says, and that more than the passage.
WEIGHTS = (3.0, 3.0, 2.0, 1.0)
RANKED = "SELECT * FROM guide WHERE guide MATCH ? ORDER BY bm25(guide, ?, ?, ?, ?) LIMIT ?"
SAID_TOO = (
    {"warp", "bent", "bow", "bend"},
    {"knife", "blade"},
    {"fire", "flame"},
    {"phone", "telephone"},
    {"watchdog", "dead-man"},
    {"overnight", "unattended", "alone", "bed", "sleep"},
    {"cable", "line", "wire"},
    {"probe", "sensor", "thermocouple", "couple"},
    {"crash", "freeze", "hang", "fail"},
    {"ssr", "solid-state"},
    {"outage", "power"},
    {"several", "many", "batch", "load"},
)
# Examples of files and commands, and the heads of tables.
NO_PASSAGE = re.compile(r"^```.*?^```|^\|[^\n]*\n\|[-| ]+$", re.MULTILINE | re.DOTALL)
# Words that say nothing of what is asked.
EMPTY = {
    "a", "about", "after", "all", "am", "an", "and", "any", "are", "as", "at", "be", "because",
    "before", "but", "by", "can", "cannot", "could", "did", "do", "does", "for", "from", "get", "go",
    "goes", "had", "has", "have", "he", "how", "i", "if", "in", "into", "is", "it", "its", "kilnctl",
    "make", "may", "me", "mean", "means", "mine", "much", "must", "my", "no", "not", "of", "off", "on",
    "one", "or", "our", "out", "over", "shall", "should", "so", "than", "that", "the", "their", "them",
    "then", "there", "they", "this", "to", "too", "up", "use", "was", "we", "went", "were", "what",
    "when", "where", "which", "who", "why", "will", "with", "would", "you", "your",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Passage:
    """One paragraph, list item or row of a table, and where in the guide it stands."""

    topic: str
    title: str
    heading: str
    text: str

    def told(self) -> str:
        """Return it as a paragraph: the cells of a row one after the other."""
        if not self.text.startswith("|"):
            return self.text
        first, *others = [cell.strip() for cell in self.text.strip("|").split("|")]
        return f"**{first}**: {'; '.join(others)}"


def search(words: Sequence[str]) -> list[Passage]:
    """Return what answers a question best, best first; nothing where the guide does not speak of it."""
    asked = [word for word in re.findall(r"[\w-]+", " ".join(words).lower()) if word not in EMPTY]
    if not asked:
        return []
    terms = {other for word in asked for other in _said_too(word)}
    query = " OR ".join(f'"{term}"' for term in sorted(terms))
    with closing(sqlite3.connect(":memory:")) as index:
        index.execute("CREATE VIRTUAL TABLE guide USING fts5(topic, title, heading, text, tokenize='porter')")
        index.executemany("INSERT INTO guide VALUES (?, ?, ?, ?)", map(astuple, passages()))
        return [Passage(*row) for row in index.execute(RANKED, (query, *WEIGHTS, MOST_FOUND))]


def passages() -> Iterator[Passage]:
    """Yield the guide passage by passage."""
    for page in pages():
        heading = page.title
        told = NO_PASSAGE.sub("", page.text())
        for block in re.split(r"\n\s*\n|\n(?=[|#]|- |\d+\. )", told):
            if block.startswith("#"):
                heading = block.lstrip("# ").strip()
            elif re.search(r"\w", block):
                yield Passage(page.topic, page.title, heading, block.strip())


def _said_too(word: str) -> set[str]:
    """Return a word and those that makers say for it."""
    stem = word.removesuffix("s").removesuffix("ed")
    return {word}.union(*(group for group in SAID_TOO if {word, stem} & group))
