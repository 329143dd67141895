"""What a card of one's own is asked about; the cards that ship answer for themselves.

Andrews 1965 for the start of austenite; Hollomon and Jaffe 1945 (as fitted) for plain carbon ladders.
"""

import pytest

from kilnctl.cli.plan.steel.steel_wizard import ask_card
from kilnctl.config.home import bundled
from kilnctl.errors import ProfileError
from kilnctl.tomlfile import loads
from kilnctl.treatment.steel.card_review import review_card
from kilnctl.treatment.steel.steels import Steel, load_steel

ANSWERS = {
    "Grade": "my-95",
    "Kind": "plain carbon",
    "What is it for": "knives",
    "Where do": "sheet of the mill, 2019",
    "Hardening heat": "800 C to 815 C",
    "Soak": "10 min",
    "Too hot": "1520 F",
    "Quench": "fast oil",
    "Up to": "1/4 in",
    "And another": "",
    "Another source": "",
    "Carbon": "0.95",
    "Temper and": "400F: 61-62, 260 C: 58-60",
}


def written(**changed: str) -> Steel:
    answers = ANSWERS | {key.replace("_", " "): value for key, value in changed.items()}

    def ask(question: str) -> str:
        return next(value for key, value in answers.items() if question.startswith(key))

    return loads(ask_card(ask, lambda _: None), Steel, ProfileError, "card")


def test_a_card_written_by_asking_loads_and_has_a_source_for_every_number() -> None:
    card = written()
    assert [row.at_c for row in card.temper_table[0].row] == pytest.approx([204.44, 260.0], abs=0.01)
    assert card.too_hot[0].low_c == pytest.approx(826.7, abs=0.1)
    assert review_card(card) == (
        "no spoils: 230-370 °C can cost toughness in carbon and low-alloy steel (common practice)",
    )


def test_sources_that_differ_stand_side_by_side() -> None:
    """Two sheets, three media, two ladders: each number keeps the source that says it (invented sheets)."""
    given = ANSWERS | {"Its quench": "water or brine", "Temper and": "205 C: 60-62"}
    others = iter(["own trials, 2025", ""])
    media = iter(["medium oil", "", ""])

    def ask(question: str) -> str:
        if question.startswith("Another source"):
            return next(others)
        if question.startswith("And another"):
            return next(media)
        return next(value for key, value in given.items() if question.startswith(key))

    card = loads(ask_card(ask, lambda _: None), Steel, ProfileError, "card")
    assert [q.medium for q in card.quench] == ["fast oil", "medium oil", "water or brine"]
    assert card.quench[0].up_to_mm == pytest.approx(6.35)
    for claims in (card.austenitise, card.temper_table, card.too_hot):
        assert [card.cite(claim) for claim in claims] == ["sheet of the mill, 2019", "own trials, 2025"]


@pytest.mark.parametrize(
    ("changed", "says"),
    [
        ({"Hardening_heat": "650 C to 700 C"}, "will not harden"),
        ({"Hardening_heat": "1375 C to 1390 C"}, r"did you mean 1375 °F \(746 °C\)"),
        ({"Hardening_heat": "800 F to 815 F"}, r"will not harden; did you mean 815 °C"),
        ({"Temper_and": "400 C: 60-62"}, "from this table"),
        ({"Temper_and": "205 C: 61, 800 C: 40-46"}, r"hardens again; did you mean 800 °F \(427 °C\)"),
        ({"Carbon": "0.2", "Temper_and": ""}, "hardly hardens"),
        ({"Temper_and": ""}, "no temper_table"),
        ({"Too_hot": ""}, "no too_hot"),
        ({"Too_hot": "500 C"}, "lies below the hardening heat"),
    ],
)
def test_what_is_doubtful_is_asked(changed: dict[str, str], says: str) -> None:
    import re

    assert any(re.search(says, doubt) for doubt in review_card(written(**changed)))


@pytest.mark.parametrize("path", sorted(bundled("steels").glob("*.toml")), ids=lambda p: p.stem)
def test_no_bundled_card_has_a_doubt_about_its_heats(path: object) -> None:
    doubts = review_card(load_steel(str(path)))
    assert not [d for d in doubts if "will not harden" in d or "meant" in d or "from this table" in d]


@pytest.mark.parametrize(
    ("question", "typed", "again"),
    [
        ("Temper and", "205 C: 62-60", "softer end first"),
        ("Temper and", "205 C: 60-72", "up to 70"),
        ("Soak", "0 min", "more than nothing"),
        ("Soak", "15-10 min", "shorter end first"),
        ("Hardening heat", "815-790 C", "lower heat first"),
        ("Hardening heat", "790-815", "needs a unit"),
    ],
)
def test_a_slip_is_asked_again_at_once_not_lost_at_the_end(question: str, typed: str, again: str) -> None:
    said: list[str] = []
    tries = iter([typed, ANSWERS[question]])

    def ask(asked: str) -> str:
        if asked.startswith(question):
            return next(tries)
        return next(value for key, value in ANSWERS.items() if asked.startswith(key))

    loads(ask_card(ask, said.append), Steel, ProfileError, "card")
    assert any(again in line for line in said)


def test_ranges_are_taken_as_sheets_write_them() -> None:
    card = written(
        Hardening_heat="790-815 C", Soak="10-15 min", Carbon="0,95", Temper_and="205 C: 61; 260 C: 58-60"
    )
    heat = card.austenitise[0]
    assert (heat.low_c, heat.high_c, heat.soak_low_s, heat.soak_high_s) == (790.0, 815.0, 600.0, 900.0)
    assert written(Hardening_heat="1475 F – 1500 F").austenitise[0].high_c == pytest.approx(815.6, abs=0.1)
    assert written(Soak="").austenitise[0].soak_low_s is None
    assert [row.hrc for row in card.temper_table[0].row] == [(61.0, 61.0), (58.0, 60.0)]
    assert card.carbon == 0.95


def test_a_card_that_is_there_already_is_told_of() -> None:
    said: list[str] = []
    answers = {**ANSWERS, "Grade": "1.2510"}
    ask_card(lambda asked: next(v for k, v in answers.items() if asked.startswith(k)), said.append)
    assert any("kilnctl steel O1" in line for line in said)


def test_nothing_is_written_when_an_answer_is_no_number() -> None:
    said: list[str] = []
    tries = iter(["abc", "0.95"])

    def ask(question: str) -> str:
        if question.startswith("Carbon"):
            return next(tries)
        return next(value for key, value in ANSWERS.items() if question.startswith(key))

    ask_card(ask, said.append)
    assert any("per cent by weight" in line for line in said)
