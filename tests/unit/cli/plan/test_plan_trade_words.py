"""The trade's commands: what they print, and how they refuse bad input in one clear line."""

import json
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from kilnctl.cli.main import run
from kilnctl.cli.plan.plan_timing import parse_ready
from kilnctl.errors import UnitError

pytestmark = pytest.mark.usefixtures("own_home")


GOOD = """name = "r"
steel = "O1"
section = "4 mm"
oven = "tempering-oven"
goal_hrc = [60, 62]

[[treatment]]
do = "temper"
at = "218 C"
"""


def spoken(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str, str]:
    code = run(words)
    told = capsys.readouterr()
    return code, told.out, told.err


def test_plan_fits_above_the_anvil(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = spoken(capsys, "plan", "gouge-o1-temper")
    assert code == 0
    assert max(map(len, out.splitlines())) <= 80
    for words in (
        "218",
        "424",
        "temper 2: soak",
        "Total: about",
        "kWh",
        "common practice",
        "60-62 HRC",
    ):
        assert words in out


def test_plan_as_json_has_everything(capsys: pytest.CaptureFixture[str]) -> None:
    # A fixed hour would be refused in the hours before it.
    in_time = datetime.now().astimezone() + timedelta(hours=12)
    code, out, _ = spoken(
        capsys, "plan", "drawknife-5160-normalise", "--json", "--ready-at", f"{in_time:%H:%M}"
    )
    made = json.loads(out)
    assert code == 0
    assert [row["kind"] for row in made["rows"]][:3] == ["ramp", "soak", "operator"]
    assert made["readiness"]["start_by"] < made["readiness"]["ready_at"]
    assert made["exposure"]["above_800_s"] > 0
    assert made["total_s"] > 0
    assert all(row["why"] and row["source"] for row in made["rows"])


def test_plan_writes_a_profile_that_plans_the_same(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "p.toml"
    assert spoken(capsys, "plan", "gouge-o1-temper", "--out", str(out))[0] == 0
    _, first, _ = spoken(capsys, "plan", "gouge-o1-temper", "--json")
    code, again, _ = spoken(capsys, "plan", str(out), "--json")
    assert code == 0
    assert json.loads(again)["rows"] == json.loads(first)["rows"]
    code, _, err = spoken(capsys, "plan", "gouge-o1-temper", "--out", str(out))
    assert code == 2
    assert "exists already" in err


def test_tempering_oven_is_started_before_the_quench(capsys: pytest.CaptureFixture[str]) -> None:
    """Where its temper has a hot load; else the part lies in it before it heats."""
    _, out, _ = spoken(capsys, "plan", "gouge-o1-six", "--oven", "hardening-furnace")
    assert "Start tempering-oven for 225 °C (437 °F)" in " ".join(out.split())
    _, out, _ = spoken(capsys, "plan", "gouge-o1-harden", "--oven", "hardening-furnace")
    assert "it heats to 218 °C (424 °F) with the part in it" in " ".join(out.split())


@pytest.mark.parametrize(
    ("old", "new", "says", "code"),
    [
        ('"O1"', '"O1x"', 'no steel "O1x"; spelt like it: O1', 2),
        ('"4 mm"', '"0 mm"', "r.toml:3: section", 2),
        ('"4 mm"', '"-4 mm"', "r.toml:3: section", 2),
        ('"4 mm"', '"9000 mm"', "r.toml:3: section", 2),
        ('"4 mm"', '"4 mm 5 in"', "r.toml:3: section", 2),
        ('"218 C"', '"218 C 424 F"', "r.toml:9: treatment[1].at: cannot read", 2),
        ('"218 C"', "425", '"425 F" (= 218.3 C)', 2),
        ("[60, 62]", "[67, 69]", "out of reach for O1: its tables run from 64 HRC", 2),
        ("[60, 62]", "[62, 60]", "r.toml:5: goal_hrc: write [low, high]", 2),
        ('"218 C"', '"830 C"', "tempering-oven may go to 250 °C", 3),
        ('"tempering-oven"', '"kitchen"', 'no oven "kitchen"', 2),
        (GOOD, "", "the file is empty", 2),
        (GOOD, "name = ", "not a TOML file", 2),
    ],
)
def test_bad_input_is_one_line_and_a_code(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], old: str, new: str, says: str, code: int
) -> None:
    path = tmp_path / "r.toml"
    path.write_text(GOOD.replace(old, new))
    got, _, err = spoken(capsys, "plan", str(path))
    assert got == code
    assert says in err
    assert len(err.strip().splitlines()) == 1
    assert "Traceback" not in err


def test_a_treatment_the_steel_must_not_have(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "r.toml"
    path.write_text('name = "r"\nsteel = "D2"\nsection = "4 mm"\n[[treatment]]\ndo = "normalise"\n')
    code, _, err = spoken(capsys, "plan", str(path), "--oven", "hardening-furnace")
    assert code == 2
    assert "D2 must not be normalised" in err


def test_ready_at() -> None:
    now = datetime(2026, 11, 25, 13, 30, tzinfo=UTC)
    assert parse_ready("15:00", now) == datetime(2026, 11, 25, 15, 0, tzinfo=UTC)
    assert parse_ready("7:05", now) == datetime(2026, 11, 26, 7, 5, tzinfo=UTC)
    for bad in ("25:00", "15", "15:00:00", "3pm", ""):
        with pytest.raises(UnitError):
            parse_ready(bad, now)


def test_ready_too_soon_is_refused(capsys: pytest.CaptureFixture[str]) -> None:
    soon = datetime.now().astimezone()
    code, _, err = spoken(
        capsys, "plan", "gouge-o1-temper", "--ready-at", f"{(soon.hour + 1) % 24}:{soon.minute:02d}"
    )
    assert code == 3
    assert "it would have had to start at" in err


def test_six_of_a_kind_are_told_once(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = spoken(capsys, "plan", "gouge-o1-six", "--oven", "hardening-furnace")
    assert code == 0
    assert out.count("straight into") == 1
    assert out.count("as step 3") == 5


def test_a_temper_in_the_wrong_unit_is_asked_about(
    own_home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """400 °F is the usual temper of 1095 for some 62 HRC; 400 °C leaves 47-50 (ladder of a strip seller)."""
    path = own_home / "slip.toml"
    text = GOOD.replace("O1", "1095").replace("218 C", "400 C").replace("tempering-oven", "hardening-furnace")
    path.write_text(text)
    _, out, _ = spoken(capsys, "plan", str(path))
    assert "did you mean 400 °F (204 °C)?" in " ".join(out.split())


def test_who_tempers_in_the_furnace_that_hardened_is_told_of_a_snap_temper(
    own_home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = own_home / "d2.toml"
    text = 'name = "d2"\nsteel = "D2"\nsection = "3 mm"\nsurface = "foil"\noven = "hardening-furnace"\n'
    doing = '[[treatment]]\ndo = "harden"\nprotection = "foil"\n[[treatment]]\ndo = "temper"\nat = "500 C"\n'
    path.write_text(text + doing)
    _, out, _ = spoken(capsys, "plan", str(path))
    assert "snap temper there meanwhile" in " ".join(out.split())


def test_one_plan_gives_one_hour_to_start_the_other_oven(capsys: pytest.CaptureFixture[str]) -> None:
    """By its ramp (400 °C/h to 225 °C) and ten minutes to settle: 45 min, in warning and timing."""
    _, out, _ = spoken(capsys, "plan", "gouge-o1-six", "--oven", "hardening-furnace")
    said = " ".join(out.split())
    assert "start tempering-oven about 45 min before" in said
    assert "Start tempering-oven for 225 °C (437 °F) 45 min before" in said
