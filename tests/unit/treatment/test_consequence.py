"""What every step leaves of the part: nothing that was hardened is undone in silence."""

import pytest
from trade_plans import chained, planned

from kilnctl.errors import ProfileError
from kilnctl.profile.segments import Cool, Operator, Profile, Soak
from kilnctl.treatment.advice import hardness_notes
from kilnctl.treatment.consequence import begun, hrc_of, predicted_hrc, states
from kilnctl.treatment.steel.steels import load_steel
from kilnctl.treatment.steel.temper.dose import equal_time_s, parameter

HARDEN, TEMPER = {"do": "harden"}, {"do": "temper", "at": "205 C"}
WHY = {"undoes_hardness": "cracked; to be forged again"}


@pytest.mark.parametrize(
    "after",
    [
        {"do": "stress relief", "at": "640 C"},
        {"do": "stress relief"},
        {"do": "anneal", "type": "subcritical", "at": "690 C"},
        {"do": "anneal", "type": "full"},
        {"do": "normalise"},
        {"do": "harden"},
        {"do": "hold", "at": "400 C", "at_most": "1h"},
        {"do": "temper", "at": "350 C"},
    ],
)
@pytest.mark.parametrize("before", [(HARDEN,), (HARDEN, TEMPER), (TEMPER,)])
def test_what_undoes_a_hardening_needs_a_reason(
    before: tuple[dict[str, object], ...], after: dict[str, object]
) -> None:
    if before == (HARDEN,) and after["do"] == "temper":
        return  # a first temper exceeds nothing
    with pytest.raises(ProfileError, match=r"undoes_hardness|stands before the quench"):
        chained("1080", *before, after, TEMPER if after["do"] != "temper" else after)
    said = chained("1080", *before, {**after, **WHY}).warnings
    assert any("cracked; to be forged again" in text for text in said)


def test_what_undoes_nothing_needs_none() -> None:
    chained(
        "1080", {"do": "normalise"}, {"do": "stress relief"}, HARDEN, {"do": "snap temper"}, TEMPER, TEMPER
    )
    chained("O1", HARDEN, {"do": "snap temper"}, {"do": "cold treatment"}, TEMPER)
    chained("1080", HARDEN, TEMPER, {"do": "stress relief", "at": "180 C"})


def test_the_promise_is_that_of_the_last_state() -> None:
    """Grange and Baughman 1956, 0.82 % C, one hour: 649 degC 27.0, 593 degC 32.5 HRC."""
    relief = {"do": "stress relief", "at": "649 C", "time": "1h", **WHY}
    steel = load_steel("1080")
    for chain in ((HARDEN, relief, TEMPER), (HARDEN, TEMPER, relief)):
        part = chained("1080", *chain).parts[-1]
        low, high = hrc_of(part, steel) or (0.0, 0.0)
        assert low <= 27.0 <= high <= 33.0
        assert not any("expect 60" in note for note in hardness_notes(part, steel))


@pytest.mark.parametrize(
    ("steel", "at_c", "hrc"), [("1080", 427, 47.0), ("1095", 427, 45.0), ("1075", 316, 53.0)]
)
def test_hardness_after_a_temper_is_the_published_one(steel: str, at_c: float, hrc: float) -> None:
    """Grange and Baughman 1956 (1080); ASTM A684 seller's ladder (1095, 1075)."""
    made = chained(steel, HARDEN, {"do": "temper", "at": f"{at_c} C", "time": "1h", "count": 1})
    low, high = hrc_of(made.parts[-1], load_steel(steel)) or (0.0, 0.0)
    assert low <= hrc <= high


def test_every_step_says_what_it_leaves() -> None:
    made = planned("1084", {"do": "normalise", "at": ("870 C",)}, HARDEN, TEMPER)
    said = {(row.kind, row.label): row.after for row in made.rows}
    assert all(said.values())
    assert (
        "normalised" in said["soak", "austenitise: soak"] or "austenite" in said["soak", "austenitise: soak"]
    )
    assert "65 HRC" in said["operator", "quench"]
    assert "brittle" in said["operator", "check"]
    assert "tempered" in said["soak", "temper 2: soak"]
    assert made.rows[-1].after_hrc is not None


def test_a_part_of_a_chain_elsewhere_counts() -> None:
    """Tempered at 205 in the other oven, then 350 here: refused, although this oven sees one temper."""
    far = {**TEMPER, "oven": "tempering-oven"}
    with pytest.raises(ProfileError, match="exceeds the temper"):
        chained("1080", HARDEN, far, {"do": "temper", "at": "350 C"})


# --- no part into an oven that is too hot -----------------------------------------------------------


@pytest.mark.parametrize(
    "chain",
    [
        (HARDEN, TEMPER),
        (HARDEN, {"do": "snap temper"}, TEMPER),
        ({"do": "normalise", "at": ("870 C",)}, {"do": "stress relief"}, HARDEN, TEMPER),
        ({"do": "normalise", "at": ("870 C", "840 C")}, {"do": "harden", "load": "hot"}, TEMPER),
    ],
)
def test_the_oven_falls_before_the_part_goes_back(chain: tuple[dict[str, object], ...]) -> None:
    segments = chained("1084", *chain).segments
    for n, segment in enumerate(segments):
        if not (isinstance(segment, Operator) and segment.step == "load"):
            continue
        oven_c = 20.0
        for earlier in segments[:n]:
            if isinstance(earlier, Soak):
                oven_c = max(oven_c, earlier.at_c)
            elif isinstance(earlier, Operator):
                oven_c = max(oven_c, earlier.hold_c or 0.0)
            elif isinstance(earlier, Cool) and earlier.measure == "oven":
                oven_c = earlier.to_c
        allowed_c = next(s.at_c for s in segments[n:] if isinstance(s, Soak))
        assert oven_c <= allowed_c + 31.0, f"step {n + 1}"  # falling normalise heats wait a minute or two
    gates = [s for s in segments if isinstance(s, Cool) and "falls" in s.label]
    assert gates


def test_the_wait_for_the_oven_is_told_in_hours() -> None:
    made = planned("1084", HARDEN, TEMPER)
    assert any("waits untempered" in text and " h " in text for text in made.warnings)
    gate = next(row for row in made.rows if "falls" in row.label)
    assert gate.duration_s > 3600.0
    assert gate.goal_c == 205.0


# --- doses ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("at_c", "time_s", "other_c"),
    [(200.0, -1.0, 210.0), (-300.0, 60.0, 200.0), (200.0, 60.0, -280.0), (741.0, 3600.0, 205.0)],
)
def test_impossible_doses_are_errors(at_c: float, time_s: float, other_c: float) -> None:
    with pytest.raises(ProfileError):
        equal_time_s(at_c, time_s, other_c)


def test_no_parameter_of_no_time() -> None:
    with pytest.raises(ProfileError):
        parameter(200.0, 0.0)


def test_a_profile_of_one_oven_assumes_a_hardened_part() -> None:
    soak = {"kind": "soak", "at": "205 C", "time": "2h", "purpose": "temper"}
    profile = Profile.model_validate({"name": "p", "steel": "1095", "segment": (soak,)})
    low, high = predicted_hrc(profile, load_steel("1095")) or (0.0, 0.0)
    assert 58.0 < low < 62.5 < high < 65.0


@pytest.mark.parametrize(
    ("grade", "rate", "said"),
    [("A2", "300 C/h", "half hard"), ("A2", "20 C/h", "annealed"), ("5160", "300 C/h", "annealed")],
)
def test_an_air_hardening_grade_is_annealed_by_its_slow_cooling_alone(
    grade: str, rate: str, said: str
) -> None:
    """A2: 22-28 degC/h down to 480-540 °C (its sheets); 5160 does not harden in a furnace (ASM entry)."""
    made = planned(grade, {"do": "anneal", "type": "full", "cool_rate": rate})
    assert states(made.profile, load_steel(grade), begun(made.profile))[-1].structure == said


def test_a_fall_to_where_the_slow_cooling_begins_anneals_nothing() -> None:
    """5160 spheroidised: 750 °C, fast to 705, then at most 6 degC/h to 650 (bladesmith society forum)."""
    made = planned("5160", {"do": "anneal", "type": "spheroidise"})
    found = states(made.profile, load_steel("5160"), begun(made.profile))
    cools = [n for n, s in enumerate(made.profile.segments) if isinstance(s, Cool)]
    assert [found[n].structure for n in cools[:2]] == ["austenite", "annealed"]


@pytest.mark.parametrize(("grade", "from_bath"), [("5160", "270 °C"), ("1095", "200 °C")])
def test_a_blade_leaves_the_oil_before_it_stiffens(grade: str, from_bath: str) -> None:
    """Ms of 5160 near 264 °C, of 1095 from 800 °C near 196 (van Bohemen): half of it is hard 60 K below."""
    steps = [s for s in planned(grade, HARDEN).profile.segments if isinstance(s, Operator)]
    assert all(from_bath in s.say for s in steps if s.step in ("quench", "clamp"))


def test_an_oven_that_settles_empty_has_no_part_to_warn_of() -> None:
    made = planned("1095", {**HARDEN, "load": "hot"})
    empty = next(n for n, s in enumerate(made.profile.segments) if "empty" in s.label)
    assert "Accm" not in made.profile.segments[empty].reason
    assert "too hot" not in made.rows[empty].warning


@pytest.mark.parametrize(
    ("do", "said"),
    [
        (HARDEN, "no child, animal or visitor in the room"),
        (TEMPER, "no child, animal or visitor at the oven"),
    ],
)
def test_a_plan_thinks_of_others_in_the_room(do: dict[str, object], said: str) -> None:
    """A child or a guest cannot tell hot steel from cold (common practice)."""
    notes = " ".join(planned("1080", do).notes)
    assert said in notes
    assert ("never between oven and bath" in notes) == (do is HARDEN)
