"""Recipes become profiles, and bad ones are refused in one clear line."""

from pathlib import Path

import pytest

from kilnctl.config.home import known
from kilnctl.config.oven import Oven, load_oven
from kilnctl.errors import ProfileError, RunRefused
from kilnctl.profile.segments import Cool, Operator, Soak
from kilnctl.treatment.job_file import load_job
from kilnctl.treatment.planning import soak_job

BASE = 'name = "r"\nsteel = "O1"\nsection = "4 mm"\n'
TEMPER = '[[treatment]]\ndo = "temper"\nat = "218 C"\ntime = "2h"\ncount = 2\n'


def oven(name: str) -> Oven:
    return load_oven(known("ovens")[name])


def job(tmp_path: Path, text: str, name: str = "tempering-oven"):
    path = tmp_path / "r.toml"
    path.write_text(text)
    return load_job(path, oven(name))


def refused(tmp_path: Path, text: str, name: str = "tempering-oven") -> str:
    with pytest.raises((ProfileError, RunRefused)) as e:
        job(tmp_path, text, name)
    assert "\n" not in str(e.value)
    return str(e.value)


def test_two_tempers_have_a_cool_gate_between(tmp_path: Path) -> None:
    made = job(tmp_path, BASE + TEMPER)
    assert [s.kind for s in made.profile.segments] == ["ramp", "soak", "cool"] * 2
    gate = made.profile.segments[2]
    assert isinstance(gate, Cool)
    assert (gate.to_c, gate.measure, gate.rate_c_per_h) == (45.0, "part", None)
    assert all(isinstance(s, Soak) is False or s.clock == "part" for s in made.profile.segments)


def test_every_row_says_why_and_who(tmp_path: Path) -> None:
    for row in job(tmp_path, BASE + TEMPER).rows:
        assert row.why
        assert row.source


def test_a_warm_room_raises_the_gate(tmp_path: Path) -> None:
    warm = oven("tempering-oven").model_copy(update={"ambient_c": 38.0})
    path = tmp_path / "r.toml"
    path.write_text(BASE + TEMPER)
    gate = load_job(path, warm).profile.segments[2]
    assert isinstance(gate, Cool)
    assert gate.to_c == pytest.approx(48.0)


def test_normalise_holds_for_the_person_and_falls(tmp_path: Path) -> None:
    text = BASE.replace("O1", "5160") + '[[treatment]]\ndo = "normalise"\nat = ["870 C", "840 C"]\n'
    segments = job(tmp_path, text, "hardening-furnace").profile.segments
    steps = [s for s in segments if isinstance(s, Operator)]
    assert [s.step for s in steps] == ["air cool", "load", "air cool"]
    assert [s.hold_c for s in steps] == [870.0, 840.0, 840.0]


def test_over_the_ovens_limit_names_the_segment(tmp_path: Path) -> None:
    said = refused(tmp_path, BASE + TEMPER.replace("218 C", "830 C"))
    assert "segment 1" in said
    assert "tempering-oven" in said
    assert "250 °C" in said


def test_recipe_for_another_oven(tmp_path: Path) -> None:
    said = refused(tmp_path, BASE + 'oven = "hardening-furnace"\n' + TEMPER)
    assert 'for "hardening-furnace", not for the oven "tempering-oven"' in said


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ('"O1"', '"01"', "no steel"),
        ("218 C", "218", "needs a unit"),
        ("count = 2", "cuont = 2", "r.toml:8: treatment[1].cuont: unknown key"),
        ("4 mm", "0 mm", "r.toml:3: section"),
        ("4 mm", "-1 mm", "r.toml:3: section"),
        ("4 mm", "4000 mm", "r.toml:3: section"),
        ("4 mm", "4 mm 3 in", "r.toml:3: section"),
        ('at = "218 C"', "at = nan", "r.toml:6: treatment[1].at"),
        ('"temper"', '"tempre"', 'r.toml:4: treatment[1]: "do" must be one of'),
    ],
)
def test_mistakes_name_file_line_and_key(tmp_path: Path, old: str, new: str, says: str) -> None:
    assert says in refused(tmp_path, (BASE + TEMPER).replace(old, new))


def test_neither_recipe_nor_profile(tmp_path: Path) -> None:
    assert "neither a recipe" in refused(tmp_path, 'name = "x"\n')
    assert "empty" in refused(tmp_path, "")


def test_profile_file_for_another_oven(tmp_path: Path) -> None:
    text = 'name = "p"\noven = "hardening-furnace"\n[[segment]]\nkind = "ramp"\nto = "100 C"\n'
    assert "hardening-furnace" in refused(tmp_path, text)


def test_soak_without_a_file_keeps_the_ovens_limit() -> None:
    profile = soak_job(218.0, 7200.0, oven("tempering-oven"))
    assert [s.kind for s in profile.segments] == ["ramp", "soak", "cool"]
    with pytest.raises(RunRefused):
        soak_job(300.0, 7200.0, oven("tempering-oven"))
