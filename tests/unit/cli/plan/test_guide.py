"""The guide at the command line: topics, pages, questions."""

import io
import os

import pytest
from rich.console import Console

from kilnctl.cli.main import run
from kilnctl.cli.plan.guide import show_in


def asked(capsys: pytest.CaptureFixture[str], *words: str) -> str:
    assert run(["guide", *words]) == 0
    return capsys.readouterr().out


def test_a_question_is_answered_with_where_more_stands(capsys: pytest.CaptureFixture[str]) -> None:
    told = asked(capsys, "why", "did", "my", "blade", "warp?")
    assert "temper it clamped straight" in told
    assert "kilnctl guide when-it-went-wrong" in told


@pytest.mark.parametrize(
    ("word", "grade"), [("1084", "1084"), ("o1", "O1"), ("100Cr6", "52100"), ("440C", "440C")]
)
def test_a_steel_that_is_asked_for_has_its_card_named(
    word: str, grade: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert f"kilnctl steel {grade}`" in asked(capsys, "can", "I", "quench", word, "in", "water")


@pytest.mark.parametrize("words", [("how", "hard", "is", "1084?"), ("Is 1084 hard? I have 1084.",)])
def test_a_steel_is_found_beside_a_mark_and_in_one_quoted_question_and_once(
    words: tuple[str, ...], capsys: pytest.CaptureFixture[str]
) -> None:
    assert asked(capsys, *words).count("The card of 1084") == 1


def test_a_temperature_is_no_grade(capsys: pytest.CaptureFixture[str]) -> None:
    assert "The card of" not in asked(capsys, "K", "couple", "at", "1080", "C")
    assert "The card of 1080" in asked(capsys, "1080", "cracked")


def test_a_topic_with_further_words_is_a_question(capsys: pytest.CaptureFixture[str]) -> None:
    assert "| code | meaning |" not in asked(capsys, "exit-codes", "five")


def test_nothing_found_is_one_line(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["guide", "zymurgy"]) == 2
    assert (
        capsys.readouterr().err
        == 'kilnctl: the guide says nothing of "zymurgy"; `kilnctl guide` lists the topics\n'
    )


@pytest.mark.parametrize(
    ("text", "width", "paged"),
    [
        ("word " * 200, 40, True),  # one line of source, 25 lines drawn
        ("word\n" * 30, 80, False),  # thirty lines of source, two drawn
        ("- word\n" * 18, 80, False),  # 19 lines on 20, a blank one first: the prompt has the last
        ("- word\n" * 19, 80, True),
    ],
)
def test_a_page_is_paged_by_the_lines_that_are_drawn(
    text: str, width: int, paged: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    turned: list[str] = []
    monkeypatch.setattr("pydoc.pager", turned.append)
    out = io.StringIO()
    show_in(Console(file=out, force_terminal=True, width=width, height=20), text)
    assert bool(turned) == paged
    assert "word" in (turned[0] if paged else out.getvalue())


def test_a_pager_is_told_to_draw_what_is_set_bold(monkeypatch: pytest.MonkeyPatch) -> None:
    """Without -R, less prints the codes of bold and colour as they are."""
    seen: list[str | None] = []
    monkeypatch.delenv("LESS", raising=False)
    monkeypatch.setattr("pydoc.pager", lambda _text: seen.append(os.environ.get("LESS")))
    show_in(Console(file=io.StringIO(), force_terminal=True, width=80, height=5), "**word**\n\n" * 20)
    assert seen == ["-R"]


def test_an_answer_that_is_beside_the_point_says_so(capsys: pytest.CaptureFixture[str]) -> None:
    """A blind examiner took what was shown, six gouges in one load, for the answer to something else."""
    assert "Nothing in the guide is close" in asked(capsys, "who", "won", "the", "football", "match")
    assert "Nothing in the guide is close" not in asked(capsys, "why", "did", "my", "blade", "warp")


@pytest.mark.parametrize(
    ("asked_for", "line"),
    [
        ("spheroidise 1095", "- anneal: spheroidise: 680-710 °C"),
        ("can I normalise A2", "- normalise: do not"),
        ("stress relief O1", "- stress relief: "),
        ("how hard is O1 after the temper", "- temper against HRC: 150 °C/302 °F 63-64"),
        ("how soon dry ice after the quench D2", "- cold: -84 °C"),
        ("Ms of 1095", "- Ms: 210 °C"),
        ("what heat for a 1084 blade", "- austenitise: 800-815 °C"),
        ("how slowly must O1 cool so that I can drill it", "- anneal: full: 775-790 °C"),
        ("the magnet let go of 1084", "- austenitise: 800-815 °C"),
        ("tell me of O1", "- austenitise: "),
        ("1045 hammer head heat treat", "- quench: fast oil up to 6 mm"),
        ("Ms of O1", "- Ms from 800 °C: 164-204 °C"),
        ("how much does D2 grow", "- grows: +0 to +0.06 %"),
        ("at what temperature do I quench W2", "- austenitise: 775-815 °C"),
        ("O1 in water", "- caution: Water or a very fast oil can crack O1"),
    ],
)
def test_a_steel_that_is_asked_for_answers_with_the_lines_of_its_card(
    asked_for: str, line: str, capsys: pytest.CaptureFixture[str]
) -> None:
    told = asked(capsys, *asked_for.split())
    assert line in told
    assert told.index(line) < told.index("\n\n"), "before the passages of the guide"


def test_a_temperature_asks_for_no_temper(capsys: pytest.CaptureFixture[str]) -> None:
    told = asked(capsys, "normalise", "W2", "temperature")
    assert "- normalise: " in told
    assert "temper against" not in told.split("\n\n")[0]


@pytest.mark.parametrize(
    ("asked_for", "says"),
    [
        ("what heat for 1084 and 15N20 damascus", "1084, 15N20 harden alike from 800-815 °C"),
        ("can O1 and D2 go in together", "never harden them in one load"),
    ],
)
def test_two_steels_are_told_whether_one_heat_hardens_both(
    asked_for: str, says: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert says in asked(capsys, *asked_for.split()).split("\n\n")[0]


@pytest.mark.parametrize("grade", ["O1", "H13", "12C27", "1.4034", "26C3", "A2"])
@pytest.mark.parametrize("words", ["", "Ms", "magnet", "cold", "grow", "sharpen"])
def test_no_card_is_named_with_nothing_under_it(
    grade: str, words: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """An examiner's eight questions were answered with the name of a card alone."""
    card = asked(capsys, *f"{words} of {grade} steel".split()).split("\n\n")[0]
    assert len(card.splitlines()) >= 2
