"""The words that people meet: all of them are known, and they keep to plain English and one term for a thing.

What stands here is what readers of the texts have marked; common usage, no single source.
"""

import re

import pytest
from dashboard.feed import STATES
from house.texts import Said, matches, texts

from kilnctl.cli.main import COMMANDS, app, page
from kilnctl.dashboard.panels import header, heat_panel, help_page, limits_panel, todo
from kilnctl.dashboard.view_state import View

# Marked: what to say instead.
MARKED = {
    r"\bforese(e|es|en|eing)\b": "predict",
    r"\bforet(ell|ells|old|elling)\b": "predict",
    r"\bwall time\b": "clock time",
    r"\breckon": "allow for, count",
    r"\banew\b": "again, re-",
    r"\b(taken|took) up\b": "resumed",
    r"\bin the mean\b": "on average",
    r"\bstrangers?\b": "foreign messages",
    r"\bset ?point\b": "set-point",
    r"\b(he|she|him|her|his|hers|himself|herself)\b": "the person, you, they",
    r"\bless run \d": "minus, against",
    r"\bAnswer done\. \w": "the key, or the command",
    r"\b1 gaps\b|\b1 heats\b": "one of a thing",
}
# Where a marked word is a name: of a file's key, of the record's events, of a builder's function.
NAMES = ("logbook/", "reference/", "start_job.py", "commissioning/checklists.py")
NAMES += ("cli/plan/forecast_page.py", "cli/plan/plan_timing.py", "cli/heat/delayed_start.py")


@pytest.mark.parametrize("pattern", MARKED, ids=str)
def test_nothing_is_said_that_a_reader_has_marked(pattern: str) -> None:
    found = [said for said in matches(pattern) if not any(name in said.where for name in NAMES)]
    found = [said for said in found if " " in said.words and _is_said(said)]
    assert [f"{said.where}: {said.words[:120]}" for said in found] == [], f"say: {MARKED[pattern]}"


def _is_said(said: Said) -> bool:
    """Return whether a text is for reading: a pattern, a style or a name with blanks is none."""
    return not re.search(r"[\\{}<>=]{2}|\\b|^\S+ = ", said.words)


def _words(text: str) -> set[str]:
    return {w.lower() for w in re.findall(r"[A-Za-z]{4,}", text)}


def _vocabulary() -> set[str]:
    return set().union(*(_words(said.words) for said in texts()))


def test_the_extraction_knows_every_word_of_help_and_screens(capsys: pytest.CaptureFixture[str]) -> None:
    """A text that is built in a way that the extraction cannot see would be read by nobody."""
    shown = page()
    for name in COMMANDS:
        app()([name, "--help"], exit_on_error=False, print_error=False, result_action="return_value")
    shown += capsys.readouterr().out
    data = ""
    for state in STATES.values():
        s = state()
        data += repr(s)
        v = View(s)
        panels = (todo.now, header.header, header.caution, heat_panel.alarm_page, limits_panel.limit_page)
        shown += "\n" + "\n".join(paint(v, 200).plain for paint in (*panels, help_page.help_page))
    known = _vocabulary() | _words(data) | SINGLE
    assert sorted(_words(shown) - known) == []


# Words that stand alone in code, as a type of an option does, and so are no text.
SINGLE = _words("args ageing describe remind survey calibrate") | _words(
    "usage parameters arguments commands default choices flag options empty path float bool none"
)


def test_the_extraction_is_not_empty() -> None:
    assert len(list(texts())) > 4000
