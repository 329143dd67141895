"""The guide's page of bench questions: every command line of it is asked, and answered on one screen."""

import json
import math
import re
import shlex
from pathlib import Path

import pytest
from heats import a_book, ruled_run

from kilnctl.cli.figure import figure
from kilnctl.cli.main import run
from kilnctl.guide.pages import page

ROW = re.compile(r"^\| (.+\?) \| `kilnctl (figure .+?)` \|$", re.M)
ROWS = ROW.findall(page("bench-questions").text())
WENT_WRONG = ROW.findall(page("when-it-went-wrong").text())
SCREEN = (24, 80)


@pytest.fixture
def logbook(own_home: Path) -> None:
    """One run: 66 min up to 218 degC, then two hours there (invented)."""
    with a_book(own_home) as book:
        assert ruled_run(book) == 1


def test_the_page_asks_some_forty_questions_and_every_kind() -> None:
    assert len(ROWS) >= 40
    assert {words.split()[1] for _, words in ROWS} == {name for name in figure if not name.startswith("-")}


COLD = ROW.findall(page("cold-treatment").text())
ASKED = [words for _, words in ROWS + WENT_WRONG + COLD]
# The same answer as one object: the first question of each command.
AS_JSON = {words.split()[1]: words for words in reversed(ASKED)}.values()


@pytest.mark.parametrize("words", ASKED)
def test_a_question_of_the_page_is_answered(
    words: str, capsys: pytest.CaptureFixture[str], request: pytest.FixtureRequest
) -> None:
    typed = shlex.split(words)
    if "--run" in typed:
        request.getfixturevalue("logbook")
    assert run(typed) == 0
    said = capsys.readouterr()
    lines = said.out.splitlines()
    assert said.err == ""
    assert len(lines) <= SCREEN[0]
    assert max(map(len, lines)) <= SCREEN[1]
    assert re.search(r"^  source ", said.out, re.M)
    assert re.search(r"^  assumed ", said.out, re.M)
    if words not in AS_JSON:
        return
    assert run([*typed, "--json"]) == 0
    data = json.loads(capsys.readouterr().out)
    assert data["source"]
    assert all(math.isfinite(v) for v in data.values() if isinstance(v, float))


@pytest.mark.usefixtures("logbook")
def test_the_dose_of_a_part_of_a_run_is_that_part(capsys: pytest.CaptureFixture[str]) -> None:
    """The soak of the run is two hours at 218 degC by ruler; half of it counts half."""
    for until, hours in (("3h 6min", 2.0), ("2h 6min", 1.0)):
        asked = ("dose", "--run", "1", "--since", "66min", "--until", until, "--as", "218C", "--steel", "O1")
        assert run(("figure", *asked, "--json")) == 0
        said = json.loads(capsys.readouterr().out)
        assert said["likely_s"] == pytest.approx(hours * 3600, abs=2)
        assert said["low_s"] == pytest.approx(said["high_s"], abs=2)
