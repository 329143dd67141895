"""What hands did or somebody found when the heat was over: stamps as notes, tests as hardness, by run.

The record of a run is sealed at its end; what comes later stands beside it, as entries with its number.
"""

import re
from collections.abc import Mapping
from pathlib import Path
from typing import Any, cast

from kilnctl.care.hardness_tests import by_files, by_tester
from kilnctl.errors import ConfigError
from kilnctl.logbook import entries
from kilnctl.logbook.readers import Reader
from kilnctl.logbook.writer import Logbook
from kilnctl.treatment.steel.hardness_scales import Scale

_NUMBER = r"(\d+(?:\.\d+)?)"
_FILE = re.compile(_NUMBER + r"\s*(skates|cuts)\b")
_BLOCK = re.compile(r"block\s+" + _NUMBER + r"\s+reads\s+" + _NUMBER)
_TESTER = re.compile(r"tester(?:\s+(HRC|HRA|HV|HBW))?((?:[\s,]+" + _NUMBER + r")+)")
_BARE = re.compile(r"\bbare\b")
HIGHEST_HRC = 71.0


def keep(path: Path, run: int, mark: Mapping[str, Any], who: str, utc_s: float) -> str:
    """Write a stamp or a result of a run as entries and return what was understood, in words.

    `mark` is what a screen sends: "mark", "after_s" and "late" of hands, or "mark" = "result" and "text".
    Raises RecordError where the logbook cannot be written, ConfigError for a test that no tester can show.
    """
    with Logbook(path) as book:
        named = Reader(book.connection).run(run).part
        made = entries_of(mark, named or f"run {run}", run, who)
        for entry in made:
            entries.add(book, entry, utc_s)
    words = "; ".join(e.words if isinstance(e, entries.Hardness) else e.text for e in made)
    return f"kept with run {run}{f', {named}' if named else ''}: {words}"


def entries_of(
    mark: Mapping[str, Any], part: str, run: int, who: str
) -> list[entries.Hardness | entries.Note]:
    """Return a mark as entries: tests where its words say some, else a note. Raises ConfigError."""
    if mark.get("mark") != "result":
        return [entries.Note(part, stamp_words(mark), run, who)]
    text = str(mark.get("text", ""))
    tests = tests_in(text, part, run, who)
    return [*tests] if tests else [entries.Note(part, text, run, who)]


def stamp_words(mark: Mapping[str, Any]) -> str:
    """Return a hand stamp in words: what was done, after how long, whether it was late."""
    after_s, late = mark.get("after_s"), " LATE" if mark.get("late") else ""
    seconds = f" after {after_s:.1f} s" if isinstance(after_s, int | float) else ""
    return f"{mark.get('mark', '')}{seconds}{late}"


def tests_in(text: str, part: str, run: int, who: str) -> list[entries.Hardness]:
    """Return the tests in words like "60 skates, 65 cuts; tester 61.2 60.8; block 60.0 reads 60.9; bare".

    "tester HV 697 702; block 700 reads 712" is in that scale, the block too.
    Without "bare" nobody said that the spot was ground to bare metal, and the test says so.
    Raises ConfigError for a number that is no HRC.
    """
    bare = bool(_BARE.search(text))
    files = [(_hrc(number), word) for number, word in _FILE.findall(text)]
    found = [by_files(part, files, bare, run, who)] if files else []
    tester, block = _TESTER.search(text), _BLOCK.search(text)
    if tester is not None:
        scale = cast(Scale, tester[1] or "HRC")
        as_read = _hrc if scale == "HRC" else float
        readings = [as_read(number) for number in re.findall(_NUMBER, tester[2])]
        known = None if block is None else (as_read(block[1]), as_read(block[2]))
        found.append(by_tester(part, readings, known, bare, run, who, scale))
    return found


def _hrc(text: str) -> float:
    value = float(text)
    if not 0.0 < value < HIGHEST_HRC:
        raise ConfigError(f'"{text}" is not an HRC value: nothing was written')
    return value
