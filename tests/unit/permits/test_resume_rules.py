"""What may go on after a cut, row by row. The rules are common practice, no single source; the credit of a
temper follows the time-temperature parameter of Hollomon and Jaffe (1945), computed here a second time."""

import math
from dataclasses import replace
from itertools import pairwise

import pytest

from kilnctl.errors import ProfileError
from kilnctl.logbook.sample import Sample
from kilnctl.permits.outage import Outage
from kilnctl.permits.resume_rules import Cut, judge, may_go_on
from kilnctl.profile.cursor import Cursor, advance, next_segment
from kilnctl.profile.segments import Profile
from kilnctl.tomlfile import loads


def profile(*segments: str, steel: str = "O1") -> Profile:
    text = f'name = "cut"\nsteel = "{steel}"\n' + "".join(f"\n[[segment]]\n{s}\n" for s in segments)
    return loads(text, Profile, ProfileError, "test")


def ramp(to: int, purpose: str, rate: int = 300) -> str:
    return f'kind = "ramp"\nto = "{to} C"\nrate = "{rate} C/h"\npurpose = "{purpose}"'


def soak(at: int, purpose: str, time: str = "2 h", clock: str = "part") -> str:
    return f'kind = "soak"\nat = "{at} C"\ntime = "{time}"\nclock = "{clock}"\npurpose = "{purpose}"'


def sample(segment: int, at_c: float, soaked_s: float = 0.0) -> Sample:
    return Sample(1000.0, 0.0, 1, segment, at_c, at_c, 0.2, True, soak_oven_s=soaked_s, soak_part_s=soaked_s)


def dark(minutes: float, from_c: float, to_c: float) -> Outage:
    """An outage with an exponential course towards 20 degC."""
    seconds = minutes * 60.0
    rate = math.log((from_c - 20.0) / (to_c - 20.0)) / seconds if from_c > to_c else 0.0
    course = tuple(
        (s, 20.0 + (from_c - 20.0) * math.exp(-rate * s)) for s in (seconds * i / 200 for i in range(201))
    )
    return Outage(seconds, seconds, seconds, "", course)


UNKNOWN = Outage(None, 600.0, 3000.0, "the witnesses differ")
TEMPER = profile(ramp(218, "temper"), soak(218, "temper"))


def cut(p: Profile, segment: int, at_c: float, soaked_s: float = 0.0, **more: object) -> Cut:
    return replace(Cut(7, p, sample(segment, at_c, soaked_s), within_s=900.0), **more)  # type: ignore[arg-type]


def test_a_temper_goes_on_by_a_key_with_what_the_parameter_leaves() -> None:
    found = judge(cut(TEMPER, 1, 218.0, 75 * 60.0), dark(40, 218.0, 62.0), 62.0, 60.0)
    assert found.way == "alone", found.not_alone
    # Minute by minute with C = 20 and with 21.3 - 5.8 %C (O1, 0.95 %C by its card), by the equation itself.
    course, left = dark(40, 218.0, 62.0).trace, []
    for constant in (20.0, 21.3 - 5.8 * 0.95):
        done_h = 75 / 60
        for (a_s, a_c), (b_s, b_c) in pairwise(course):
            p = 491.15 * (constant + math.log10(done_h))
            here_k = (a_c + b_c) / 2 + 273.15
            here_h = 10 ** (p / here_k - constant) + (b_s - a_s) / 3600
            done_h = 10 ** (here_k * (constant + math.log10(here_h)) / 491.15 - constant)
        left.append(120 - done_h * 60)
    assert 120 - found.credited_s / 60 == pytest.approx(max(left), abs=0.3)
    assert 40 < 120 - found.credited_s / 60 < 45  # naive would be 45
    assert found.start == Cursor(0, carry_s=found.credited_s)


def test_the_carried_credit_arrives_in_the_soak_and_nowhere_else() -> None:
    there = next_segment(TEMPER, Cursor(0, carry_s=4000.0))
    assert (there.segment, there.soak_part_s, there.soak_oven_s, there.carry_s) == (1, 4000.0, 4000.0, 0.0)
    still = advance(TEMPER, Cursor(0, carry_s=4000.0), 60.0, 60.0, 1.0)
    assert (still.segment, still.carry_s) == (0, 4000.0)
    assert still.setpoint_c == pytest.approx(60.0 + 300 / 3600)  # from where the oven is, at the ramp's rate


def test_an_unknown_outage_repeats_the_whole_soak_with_a_person() -> None:
    found = judge(cut(TEMPER, 1, 218.0, 75 * 60.0), UNKNOWN, 62.0, 60.0)
    assert (found.way, found.credited_s, found.start) == ("attended", 0.0, Cursor(0))
    assert "witnesses differ" in found.not_alone[0]


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"within_s": None}, "opted in"),
        ({"again": True}, "once already"),
        ({"ended": "tripped"}, "tripped"),
        ({"ended": "stopped"}, "was stopped"),
        ({"latched": False}, "reset"),
    ],
)
def test_each_condition_of_the_key(change: dict[str, object], words: str) -> None:
    found = judge(cut(TEMPER, 1, 218.0, 600.0, **change), dark(10, 218.0, 160.0), 160.0, 60.0)
    assert found.way == "attended"
    assert len(found.not_alone) == 1
    assert words in found.not_alone[0]


def test_a_key_that_comes_late_or_an_oven_above_its_goal_needs_a_person() -> None:
    late = judge(cut(TEMPER, 1, 218.0), dark(10, 218.0, 160.0), 160.0, 901.0)
    assert "time allowed for the key" in late.not_alone[0]
    assert judge(cut(TEMPER, 1, 218.0), dark(10, 218.0, 160.0), 160.0, 899.0).way == "alone"
    hot = judge(cut(TEMPER, 1, 222.0), dark(1, 222.0, 219.0), 219.0, 60.0)
    assert hot.not_alone == ("the oven is above the goal",)


RELIEF = profile(ramp(650, "stress relief"), soak(650, "stress relief", "1 h"))


def test_stress_relief_goes_on_after_a_short_cut_and_needs_a_person_after_a_long_one() -> None:
    short = judge(cut(RELIEF, 1, 650.0, 1200.0), dark(10, 650.0, 560.0), 560.0, 60.0)
    assert short.way == "alone"
    assert 1200.0 <= short.credited_s < 1800.0
    long = judge(cut(RELIEF, 1, 650.0, 1200.0), dark(60, 650.0, 350.0), 350.0, 60.0)
    assert long.way == "attended"
    assert "long cut" in long.not_alone[0]
    assert judge(cut(RELIEF, 0, 400.0), dark(10, 400.0, 360.0), 360.0, 60.0).start == Cursor(0)


HARDEN = profile(
    ramp(650, "preheat"), soak(650, "preheat", "10 min"), ramp(800, "harden"), soak(800, "harden")
)


def test_a_preheat_is_done_again_with_a_person() -> None:
    found = judge(cut(HARDEN, 1, 650.0, 300.0), dark(5, 650.0, 610.0), 610.0, 60.0)
    assert (found.way, found.start, found.credited_s) == ("attended", Cursor(0), 0.0)


@pytest.mark.parametrize("within_s", [None, 900.0])
def test_what_austenitises_never_goes_on_by_itself(within_s: float | None) -> None:
    for segment in (2, 3):
        heat = cut(HARDEN, segment, 800.0, within_s=within_s)
        soon = judge(heat, dark(3, 800.0, 785.0), 785.0, 60.0)
        assert soon.way == "attended"  # a person chooses: finish or abort
        assert soon.start.segment == 2
        assert soon.credited_s == 0.0
        assert judge(heat, dark(17, 800.0, 765.0), 765.0, 60.0).way == "never"
        assert judge(heat, dark(4, 800.0, 755.0), 755.0, 60.0).way == "never"
        assert judge(heat, UNKNOWN, 785.0, 60.0).way == "never"


def test_a_ramp_that_had_not_reached_the_transformation_goes_on_with_a_person() -> None:
    found = judge(cut(HARDEN, 2, 690.0), dark(5, 690.0, 650.0), 650.0, 60.0)
    assert (found.way, found.start) == ("attended", Cursor(2))


def test_steel_that_hardens_in_air_is_taken_as_partly_hardened() -> None:
    air = profile(ramp(960, "harden"), soak(960, "harden"), steel="A2")
    assert "partly hardened" in judge(cut(air, 1, 960.0), dark(30, 960.0, 700.0), 700.0, 60.0).why
    assert "normalise" in judge(cut(HARDEN, 3, 800.0), dark(30, 800.0, 650.0), 650.0, 60.0).why


SLOW = profile(
    soak(800, "anneal", "1 h"),
    'kind = "cool"\nto = "550 C"\nrate = "28 C/h"\npurpose = "anneal"',
    'kind = "cool"\nto = "60 C"\npurpose = "anneal"',
)


def test_a_slow_cooling_is_judged_by_the_rate_in_the_dark() -> None:
    fast = judge(cut(SLOW, 1, 720.0), dark(10, 720.0, 683.0), 683.0, 60.0)
    assert fast.way == "never"
    assert "222 K/h" in fast.why
    slow = judge(cut(SLOW, 1, 720.0), dark(10, 720.0, 714.0), 714.0, 60.0)
    assert (slow.way, slow.start) == ("attended", Cursor(1))
    assert judge(cut(SLOW, 1, 549.0), dark(60, 549.0, 400.0), 400.0, 60.0).way == "attended"
    assert judge(cut(SLOW, 1, 720.0), UNKNOWN, 683.0, 60.0).way == "never"
    assert judge(cut(SLOW, 2, 500.0), UNKNOWN, 300.0, 60.0).start == Cursor(2)


def test_a_hold_below_the_transformation_keeps_its_minutes_but_gets_none_for_the_dark() -> None:
    p = profile(ramp(690, "anneal"), soak(690, "anneal", "4 h", clock="oven"))
    found = judge(cut(p, 1, 690.0, 5000.0), dark(10, 690.0, 640.0), 640.0, 60.0)
    assert (found.way, found.credited_s) == ("alone", 5000.0)


def test_a_step_at_heat_begins_with_the_ramp_that_leads_to_it() -> None:
    hold = 'kind = "operator"\nstep = "load"\nsay = "load"\nhold = "300 C"\nat_most = "10 min"'
    p = profile(ramp(300, "temper"), hold)
    assert judge(cut(p, 1, 300.0), dark(10, 300.0, 250.0), 250.0, 60.0).start == Cursor(0)


STEPS = profile(
    'kind = "operator"\nstep = "load"\nsay = "load"\nhold = "800 C"\nat_most = "10 min"',
    'kind = "operator"\nstep = "quench"\nsay = "quench"\nhold = "800 C"\nat_most = "5 min"',
    'kind = "operator"\nstep = "quench"\nsay = "quench"\nat_most = "5 min"',
)


def test_ready_is_withdrawn_and_hand_work_is_taken_for_late() -> None:
    assert "READY is withdrawn" in judge(cut(STEPS, 1, 800.0), dark(1, 800.0, 795.0), 795.0, 60.0).why
    assert judge(cut(STEPS, 1, 800.0), dark(1, 800.0, 795.0), 795.0, 60.0).way == "never"
    again = judge(cut(STEPS, 0, 800.0), dark(1, 800.0, 795.0), 795.0, 60.0)
    assert (again.way, again.start) == ("attended", Cursor(0))
    assert "asked again at heat" in again.why
    lost = judge(cut(STEPS, 2, 700.0), dark(10, 700.0, 660.0), 660.0, 60.0)
    assert lost.way == "attended"
    assert "LATE" in lost.why


@pytest.mark.parametrize("purpose", ["tune", "first firing"])
def test_learning_and_first_firings_are_started_again(purpose: str) -> None:
    p = profile(ramp(300, purpose), soak(300, purpose))
    assert judge(cut(p, 1, 300.0), dark(5, 300.0, 280.0), 280.0, 60.0).way == "never"


def test_nothing_goes_on_after_the_last_segment() -> None:
    assert judge(cut(TEMPER, 2, 60.0), dark(5, 60.0, 58.0), 58.0, 60.0).way == "never"
    assert judge(cut(TEMPER, 1, 60.0, ended="complete"), dark(5, 60.0, 58.0), 58.0, 60.0).way == "never"


def test_only_what_adds_up_can_be_opted_in_for() -> None:
    assert may_go_on(TEMPER)
    assert may_go_on(RELIEF)
    assert not may_go_on(HARDEN)
    assert not may_go_on(SLOW)
