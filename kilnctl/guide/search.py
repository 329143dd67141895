"""Find the passages of the guide that answer a question, put in a maker's own words."""

import atexit
import math
import re
import sqlite3
import tomllib
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import astuple, dataclass, field, replace
from functools import cache
from itertools import pairwise

from kilnctl.guide.emergencies import told_first
from kilnctl.guide.makers_words import EMPTY, said_for
from kilnctl.guide.pages import HERE, Page, pages
from kilnctl.guide.sure_answers import sure_answer, tells_of_a_fault

MOST_FOUND = 4
# What a word weighs by where it stands. The first cell of a row says what the row is about: it weighs most.
# How makers ask for a passage in other words than its own stands in a file, one line a passage. No passage
# weighs less for being long: the longer one often is the answer.
WEIGHTS = {"lead": 3.0, "asked": 2.0, "heading": 1.0, "text": 1.0, "title": 0.7, "topic": 0.7}
ALSO = 0.3  # what it weighs to stand in a further place
INDEX = """CREATE VIRTUAL TABLE guide USING fts5(
    topic, title, heading, text, lead, asked, heads UNINDEXED, counts UNINDEXED, tokenize='porter')"""
MATCHED = "SELECT rowid FROM guide WHERE guide MATCH ?"
WHOLE = "SELECT topic, title, heading, text, heads FROM guide WHERE rowid = ?"
# A key of a file answers less than a page that says what to do; what stands in bold is what matters most.
PASSAGES = 1000  # some as many are there
BESIDE = 3  # two words of a question that stand so near each other in a passage count as a further word
GLOSSARY = "glossary"
COVERS = 1.5  # how much more a passage counts that speaks of every word
CLOSE = 0.22  # what says less of a question is beside the point
OF_FILES, KEYS_COUNT, BOLD_COUNTS, FIGURE_COUNTS = ("connect", "reference"), 0.5, 1.2, 0.6
FILES_COUNT, BOLD_ROW_COUNTS = 0.8, 1.1
# Commands that a sentence announces stand in it when it is told; other examples are left out.
ANNOUNCED = re.compile(r":\n\s*\n```(?:sh)?\n((?:kilnctl [^\n]*\n)+)```", re.MULTILINE)
EXAMPLES = re.compile(r"^```.*?^```", re.MULTILINE | re.DOTALL)


@dataclass(frozen=True, slots=True)
class Passage:
    """One paragraph, list item or row of a table, and where in the guide it stands."""

    topic: str
    title: str
    heading: str
    text: str
    heads: str = ""
    says: float = field(default=1.0, compare=False)  # how much of the question it speaks of, 0 to 1

    def told(self) -> str:
        """Return it as a paragraph; a row cell by cell, each behind the head of its column."""
        if not self.heads:
            return self.text
        (head, first), *others = zip(_cells(self.heads), _cells(self.text), strict=False)
        return f"**{head}: {first}**" + "".join(f"\n- {head}: {cell}" for head, cell in others)


def search(words: Sequence[str]) -> list[Passage]:
    """Return what answers a question best, best first; nothing where the guide does not speak of it."""
    asked = _asked(" ".join(words).lower())
    index = _index()
    of_words = [scores for word in asked if (scores := _of_word(index, word, len(asked) > 1))]
    beside = [_scores(index, f'NEAR("{one}" "{other}", {BESIDE})') for one, other in pairwise(asked)]
    counts = dict(index.execute("SELECT rowid, counts FROM guide"))
    total = {row: score * counts[row] for row, score in _together(of_words, beside).items()}
    first = _first(" ".join(words))
    best = sorted(
        (total.keys() | first) - _left_out(" ".join(words)),
        key=lambda row: (row not in first, -total.get(row, 0.0), row),
    )[:MOST_FOUND]
    says = {row: _says(row, of_words, len(asked)) for row in best}
    return [replace(Passage(*index.execute(WHOLE, (row,)).fetchone()), says=says[row]) for row in best]


@cache
def _index() -> sqlite3.Connection:
    """Return the guide's index, made at the first question; it is only read, so any thread may."""
    index = sqlite3.connect(":memory:", check_same_thread=False)
    atexit.register(index.close)
    index.execute(INDEX)
    index.executemany("INSERT INTO guide VALUES (?, ?, ?, ?, ?, ?, ?, ?)", _rows())
    return index


def _first(question: str) -> set[int]:
    """Return what a person in need must see first; else what is asked for, if that is sure."""
    if told := told_first(question):
        return _beginning(*told)
    sure = sure_answer(question)
    return _beginning(sure.topic, *sure.begins) if sure else set()


def stands_before_cards(question: str) -> bool:
    """Return whether the passages come before the cards of the steels that are named: need, or a fault."""
    return bool(told_first(question) or sure_answer(question)) or tells_of_a_fault(question)


def _left_out(question: str) -> set[int]:
    """Return the passage whose answer, to a like mishap, is another one than what was asked for wants."""
    sure = sure_answer(question)
    return _beginning(*sure.leaves_out) if sure else set()


def _beginning(topic: str, *begins: str) -> set[int]:
    rows = enumerate(_rows(), 1)
    return {n for n, row in rows if row[0] == topic and bare(str(row[3])).startswith(begins)}


def nothing_close(passages: Sequence[Passage]) -> bool:
    """Return whether the best that was found hardly speaks of what was asked."""
    return max((passage.says for passage in passages), default=0.0) < CLOSE


def _says(row: int, of_words: list[dict[int, float]], asked: int) -> float:
    """Return how much of a question a passage speaks of; a word the guide does not know is a rare one."""
    known = sum(max(scores.values()) for scores in of_words)
    unknown = (asked - len(of_words)) * max(WEIGHTS.values()) * math.log(1.0 + PASSAGES)
    return sum(scores.get(row, 0.0) for scores in of_words) / (known + unknown)


def _asked(text: str) -> list[str]:
    """Return the words that say what is asked, each once; the digits of 3.5 ask nothing."""
    return [
        w
        for w in dict.fromkeys(re.findall(r"[\w-]+", text))
        if w not in EMPTY and not re.fullmatch(r"\d|-+", w)
    ]


def _of_word(index: sqlite3.Connection, word: str, apart: bool) -> dict[int, float]:
    """Return what each passage says of one word: the word or what is said for it, whichever it says best."""
    best: dict[int, float] = {}
    for term, worth in said_for(word, apart).items():
        for row, score in _scores(index, f'"{term}"').items():
            best[row] = max(best.get(row, 0.0), worth * score)
    return best


def _scores(index: sqlite3.Connection, query: str) -> dict[int, float]:
    """Return what the passages weigh that a query matches: the more the fewer do, and by the word's place."""
    places: dict[int, list[float]] = defaultdict(list)
    for column, weight in WEIGHTS.items():
        for (row,) in index.execute(MATCHED, (f"{column}: {query}",)):
            places[row].append(weight)
    # a title says it of every passage of its page
    own = sum(max(weights) >= 1.0 for weights in places.values())
    rare = math.log(1.0 + PASSAGES / (1.0 + own))
    return {row: rare * ((1.0 - ALSO) * max(w) + ALSO * sum(w)) for row, w in places.items()}


def _together(of_words: list[dict[int, float]], beside: list[dict[int, float]]) -> dict[int, float]:
    """Return the scores of passages: what speaks of all that is asked comes before what says part of it."""
    heaviest = [max(scores.values()) for scores in of_words]
    total: dict[int, float] = {}
    for row in set().union(*of_words):
        said = sum(weight for scores, weight in zip(of_words, heaviest, strict=True) if row in scores)
        score = sum(scores.get(row, 0.0) for scores in (*of_words, *beside))
        total[row] = score * (said / sum(heaviest)) ** COVERS
    return total


@cache
def _rows() -> tuple[tuple[str | float, ...], ...]:
    """Return the guide passage by passage, with what each counts: keys of files less than what to do."""
    return tuple(_row(page, passage) for page in pages() for passage in _passages(page))


def _row(page: Page, passage: Passage) -> tuple[str | float, ...]:
    *said, heads, _ = astuple(passage)
    return (*said, _lead(passage), _asked_for(passage), heads, _counts(page, passage))


def _lead(passage: Passage) -> str:
    """Return what a passage is about: the first cell of a row, the bold clause at the head of a paragraph."""
    if passage.heads:
        return _cells(passage.text)[0]
    bold = re.match(r"[-\s]*\*\*(.+?)(?:\*\*|[:.?]\s)", passage.text, re.DOTALL)
    return bold[1] if bold else ""


def _asked_for(passage: Passage) -> str:
    """Return how makers ask for a passage, where the file of such questions has it."""
    begins = bare(passage.text)
    return " ".join(
        asked
        for key, asked in makers_questions().get(passage.topic, {}).items()
        if begins.startswith(bare(key))
    )


@cache
def makers_questions() -> dict[str, dict[str, str]]:
    """Return the questions of makers: of each topic the first words of a passage, and how it is asked for."""
    return tomllib.loads(HERE.joinpath("asked.toml").read_text(encoding="utf-8"))


def bare(text: str) -> str:
    """Return a text without the marks of Markdown that it begins with."""
    return re.sub(r"^[|>\-*\s]+", "", text)


def _counts(page: Page, passage: Passage) -> float:
    if page.section in OF_FILES and page.topic != GLOSSARY:
        return KEYS_COUNT if passage.heads else FILES_COUNT
    if passage.heads.endswith(" ask |"):
        return FIGURE_COUNTS
    if passage.text.lstrip("- ").startswith("**"):
        return BOLD_COUNTS
    return BOLD_ROW_COUNTS if "**" in passage.text else 1.0


def _passages(page: Page) -> Iterator[Passage]:
    heading, heads = page.title, ""
    blocks = [*map(str.strip, re.split(r"\n\s*\n|\n(?=[|#]|- |\d+\. )", _with_commands(page.text()))), ""]
    for block, after in pairwise(blocks):
        if block.startswith("#"):
            heading = block.lstrip("# ")
        if after.startswith("|---"):  # one table may follow another at once
            heads = block
            continue
        if not block.startswith("|"):
            heads = ""
        if re.search(r"\w", block) and not block.startswith("#"):
            yield Passage(page.topic, page.title, heading, block, heads)


def _with_commands(text: str) -> str:
    """Return a page with the commands that a sentence announces in it, and without other examples."""
    told = ANNOUNCED.sub(lambda at: ": " + ", ".join(f"`{line}`" for line in at[1].splitlines()), text)
    return EXAMPLES.sub("", told)


def _cells(row: str) -> list[str]:
    return [cell.strip() for cell in row.strip("|").split("|")]
