"""An unknown steel is tried on coupons; until what was found is written down, every page says unproven.

How the heats are read is common practice, no single source: the right one is the lowest that a file skates on
and that breaks fine. A steel that hardens in still air is no simple quench (air-hardening tool steels).
"""

from pathlib import Path

import pytest

from kilnctl.cli.main import run
from kilnctl.errors import ProfileError
from kilnctl.profile.segments import Operator, Soak, load_profile
from kilnctl.tomlfile import loads
from kilnctl.treatment.coupons import Coupons, coupon_text, first_plan, reading
from tests.trade_plans import planned

PLAN = first_plan("yard-spring", "4 mm", "fast oil")


def entered(*found: str, tempers: tuple[str, ...] = ()) -> Coupons:
    """The coupon file with results typed in: "heat file broke grain", and tempers "at hrc"."""
    text = coupon_text(PLAN)
    for line in found:
        at, file, broke, grain = line.split()
        key = f'at = "{at} C", medium = "fast oil"'
        assert key in text
        text = text.replace(key, f'{key}, file = "{file}", broke = "{broke}", grain = "{grain}"')
    for line in tempers:
        at, hrc = line.split()
        assert f'{{ at = "{at} C" }}' in text
        text = text.replace(f'{{ at = "{at} C" }}', f'{{ at = "{at} C", hrc = {hrc} }}')
    return loads(text, Coupons, ProfileError, "yard-spring")


def test_the_first_plan_has_rising_heats_and_nothing_found() -> None:
    heats = [c.at_c for c in PLAN.coupon if c.medium == "fast oil"]
    assert heats == sorted(set(heats))
    assert len(heats) >= 3
    assert any(c.medium == "still air" for c in PLAN.coupon)
    assert not PLAN.proven
    assert any("unproven" in line for line in reading(PLAN))
    assert loads(coupon_text(PLAN), Coupons, ProfileError, "again") == PLAN


def test_the_lowest_hard_and_fine_heat_is_the_one() -> None:
    found = entered("780 bites bent fine", "810 skates brittle fine", "840 skates brittle coarse")
    assert any("810 °C" in line and "harden" in line for line in reading(found))
    assert not found.proven  # no temper has been tried yet
    whole = entered(
        "780 bites bent fine", "810 skates brittle fine", "840 skates brittle coarse", tempers=("205 60",)
    )
    assert whole.proven
    assert not any("unproven" in line for line in reading(whole))


def test_a_soft_piece_is_not_asked_for_its_grain() -> None:
    """Nobody breaks a piece that the file bites (common practice)."""
    typed = entered("810 skates brittle fine", "840 skates brittle coarse")
    soft = typed.coupon[0].model_copy(update={"file": "bites"})
    found = typed.model_copy(update={"coupon": (soft, *typed.coupon[1:])})
    assert any("810 °C" in line for line in reading(found))
    assert not any("not looked at" in line for line in reading(found))


@pytest.mark.parametrize(
    ("found", "says"),
    [
        (("780 bites bent fine", "810 bites bent fine", "840 bites bent fine"), "does not harden"),
        (("780 skates brittle coarse", "810 skates brittle coarse", "840 skates brittle coarse"), "lower"),
        (("780 skates bent fine", "810 skates bent fine", "840 skates bent fine"), "skin"),
    ],
)
def test_what_else_may_come_out_is_told(found: tuple[str, ...], says: str) -> None:
    coupons = entered(*found, tempers=("205 60",))
    assert not coupons.proven
    assert any(says in line for line in reading(coupons))


def test_a_coupon_hard_from_air_is_told_apart() -> None:
    text = coupon_text(PLAN)
    air = next(c for c in PLAN.coupon if c.medium == "still air")
    key = f'at = "{air.at_c:.0f} C", medium = "still air"'
    coupons = loads(text.replace(key, f'{key}, file = "skates"'), Coupons, ProfileError, "x")
    assert any("air" in line and "alloy" in line for line in reading(coupons))


@pytest.mark.usefixtures("own_home")
def test_the_command_writes_files_that_run_and_every_page_says_unproven(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    assert run(["steel", "coupons", "yard-spring", "--section", "4 mm"]) == 0
    shown = capsys.readouterr().out
    for word in ("unproven", "file", "break", "grain", "780 °C (1436 °F)", "hardening-furnace"):
        assert word in shown, word
    harden = load_profile(tmp_path / "yard-spring-harden.toml")
    temper = load_profile(tmp_path / "yard-spring-temper.toml")
    assert "unproven" in harden.name
    assert "unproven" in temper.name
    steps = [s.step for s in harden.segments if isinstance(s, Operator)]
    assert steps.count("quench") == 3
    assert [s.at_c for s in temper.segments if isinstance(s, Soak)] == [175.0, 205.0, 235.0]
    assert run(["plan", "yard-spring-harden.toml"]) == 0
    assert "unproven" in capsys.readouterr().out
    assert run(["steel", "coupons", "yard-spring"]) == 0
    assert "unproven" in capsys.readouterr().out


@pytest.mark.usefixtures("own_home")
def test_a_guessed_grade_is_unproven_until_its_coupons_are_read(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    temper = {"do": "temper", "at": "205 C"}
    guess = planned("5160", {"do": "harden"}, temper, steel_is_a_guess=True)
    assert "unproven" in guess.profile.doubt
    assert run(["steel", "coupons", "yard-spring", "--section", "4 mm"]) == 0
    waiting = planned("5160", {"do": "harden"}, temper, steel_is_a_guess=True, coupons="yard-spring")
    assert "unproven" in waiting.profile.doubt
    from kilnctl.config import home

    text = (home.home() / "coupons" / "yard-spring.toml").read_text()
    for at in ("780", "810", "840"):
        key = f'at = "{at} C", medium = "fast oil"'
        text = text.replace(key, f'{key}, file = "skates", broke = "brittle", grain = "fine"')
    text = text.replace('{ at = "205 C" }', '{ at = "205 C", hrc = 58 }')
    (home.home() / "coupons" / "yard-spring.toml").write_text(text)
    tried = planned("5160", {"do": "harden"}, temper, steel_is_a_guess=True, coupons="yard-spring")
    assert "unproven" not in tried.profile.doubt
    assert "tried on coupons" in tried.profile.doubt
    assert not any("unproven" in w for w in tried.warnings)
