"""What a steel card says at the bench, as text, page and JSON."""

import json
from pathlib import Path

import pytest

from kilnctl.cli.main import run

pytestmark = pytest.mark.usefixtures("own_home")


def spoken(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str, str]:
    code = run(words)
    told = capsys.readouterr()
    return code, told.out, told.err


def test_card_fits_the_bench_and_names_its_sources(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = spoken(capsys, "steel", "o1")
    assert code == 0
    assert max(map(len, out.splitlines())) <= 80
    for words in (
        "austenitise",
        "790-815 °C (1454-1499 °F)",
        "data sheet of a tool-steel service company",
        "± 2 HRC",
    ):
        assert words in out


def test_disagreeing_sources_stand_side_by_side(capsys: pytest.CaptureFixture[str]) -> None:
    _, out, _ = spoken(capsys, "steel", "1084")
    assert "800-815 °C" in out
    assert "800-830 °C" in out


def test_card_as_json(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = spoken(capsys, "steel", "5160", "--json")
    card = json.loads(out)
    assert code == 0
    assert card["grade"] == "5160"
    assert all(claim["source"] for claim in card["austenitise"])


def test_all_cards(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = spoken(capsys, "steel")
    assert code == 0
    assert "80CrV2" in out


def test_a_steel_card_as_a_page_has_every_source(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    page = tmp_path / "o1.html"
    assert spoken(capsys, "steel", "o1", "--out", str(page))[0] == 0
    said = page.read_text(encoding="utf-8")
    for words in (
        "<h1>O1",
        "austenitise",
        "Temper and hardness",
        "data sheet of a tool-steel service company",
    ):
        assert words in said
    assert spoken(capsys, "steel", "--out", str(page))[0] == 2


def test_a_card_without_a_source(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "X.toml"
    path.write_text(
        'grade = "X"\nkind = "plain carbon"\naustenitise = [{ at = "800 C" }]\n[composition]\nC = 0.8\n'
    )
    code, _, err = spoken(capsys, "steel", str(path))
    assert code == 2
    assert "X.toml:3: austenitise[1]: has no source" in err
    assert "composition.C: 0.8 is a bare number" in err


def test_letters_that_the_font_lacks_are_said_once(
    own_home: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    from kilnctl.config.home import bundled

    monkeypatch.setattr("kilnctl.report.layout.system_fonts.findSystemFonts", list)
    text = (bundled("steels") / "8670.toml").read_text(encoding="utf-8").replace("axes,", "\U00012000,")
    (own_home / "steels").mkdir(exist_ok=True)
    (own_home / "steels" / "own.toml").write_text(text.replace('"8670"', '"own"', 1), encoding="utf-8")
    code, _, err = spoken(capsys, "steel", "own", "--out", str(tmp_path / "own.pdf"))
    assert code == 0
    assert "has \U00012000, so there are boxes" in err


@pytest.mark.parametrize(
    ("word", "page"),
    [("forging", "before-the-heat"), ("foil", "before-the-heat"), ("colours", "when-it-went-wrong")],
)
def test_a_word_that_is_no_topic_leads_to_the_pages_that_speak_of_it(
    word: str, page: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["guide", word]) == 0
    assert f"kilnctl guide {page}" in capsys.readouterr().out
