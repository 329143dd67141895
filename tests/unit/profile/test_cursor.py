"""The cursor: credit only in band, a set-point that waits, operator steps that end in heat off."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kilnctl.errors import ProfileError
from kilnctl.profile.cursor import LEAD_K, Cursor, SoakNumbers, advance, numbers_of, preview
from kilnctl.profile.segments import Profile, Soak
from kilnctl.tomlfile import loads

TEMPER = """
name = "two tempers (invented)"
[[segment]]
kind = "ramp"
to = "218 C"
rate = "300 C/h"
[[segment]]
kind = "soak"
at = "218 C"
time = "2h"
band = "5 K"
[[segment]]
kind = "cool"
to = "45 C"
at_most = "3h"
[[segment]]
kind = "operator"
step = "unload"
say = "take the part out"
at_most = "10 min"
"""


def profile(text: str = TEMPER) -> Profile:
    return loads(text, Profile, ProfileError, "test.toml")


def at(segment: int, **more: float) -> Cursor:
    return Cursor(segment=segment, **more)  # type: ignore[arg-type]


def test_ramp_moves_the_set_point_at_its_rate() -> None:
    cursor = advance(profile(), Cursor(setpoint_c=20.0), 20.0, None, 60.0)
    assert cursor.setpoint_c == pytest.approx(25.0)  # 300 C/h is 5 C a minute


def test_set_point_waits_for_an_oven_that_cannot_follow() -> None:
    cursor = Cursor(setpoint_c=20.0)
    for _ in range(600):
        cursor = advance(profile(), cursor, 20.0, None, 1.0)
    assert cursor.setpoint_c == pytest.approx(20.0 + LEAD_K)
    assert cursor.waits


def test_set_point_does_not_follow_a_falling_oven_down() -> None:
    cursor = advance(profile(), Cursor(setpoint_c=100.0), 60.0, None, 1.0)
    assert cursor.setpoint_c == 100.0


def test_ramp_arrives_in_a_band() -> None:
    cursor = advance(profile(), Cursor(setpoint_c=217.99), 215.5, None, 1.0)
    assert cursor.segment == 1
    assert advance(profile(), Cursor(setpoint_c=217.99), 214.5, None, 1.0).segment == 0


@pytest.mark.parametrize(
    ("process_c", "credited_s"), [(212.9, 0.0), (213.1, 1.0), (222.9, 1.0), (223.1, 0.0)]
)
def test_soak_is_credited_only_in_band(process_c: float, credited_s: float) -> None:
    assert advance(profile(), at(1), process_c, None, 1.0).soak_oven_s == credited_s


def test_soak_on_the_part_waits_for_the_part() -> None:
    text = TEMPER.replace('band = "5 K"', 'band = "5 K"\nclock = "part"')
    cold = advance(profile(text), at(1), 218.0, 100.0, 7200.0)
    assert (cold.segment, cold.soak_part_s, cold.soak_oven_s) == (1, 0.0, 7200.0)
    assert advance(profile(text), cold, 218.0, 216.0, 7200.0).segment == 2


def test_cooling_with_the_heat_off_has_no_set_point_and_ends_by_temperature() -> None:
    cursor = advance(profile(), at(2, setpoint_c=218.0), 200.0, None, 1.0)
    assert cursor.setpoint_c is None
    assert advance(profile(), cursor, 45.0, None, 1.0).segment == 3


def test_cooling_that_takes_too_long_ends_as_not_reached() -> None:
    assert advance(profile(), at(2, segment_s=10799.5), 80.0, None, 1.0).ending == "not reached"


def test_operator_step_unanswered_ends_without_heat() -> None:
    cursor = advance(profile(), at(3, waited_s=599.5, setpoint_c=100.0), 40.0, None, 1.0)
    assert (cursor.ending, cursor.setpoint_c) == ("not answered", None)


def test_operator_answers() -> None:
    assert advance(profile(), at(3), 40.0, None, 1.0, "done").ending == "complete"
    assert advance(profile(), at(3), 40.0, None, 1.0, "abort").ending == "aborted"
    assert advance(profile(), at(3, waited_s=599.5), 40.0, None, 1.0, "wait").ending == ""


def test_wait_never_lengthens_a_step_that_holds_heat() -> None:
    text = TEMPER.replace('step = "unload"', 'step = "quench"\nhold = "218 C"')
    assert advance(profile(text), at(3, waited_s=599.5), 218.0, None, 1.0, "wait").ending == "not answered"


def test_time_cannot_go_back() -> None:
    for dt_s in (-1.0, math.nan):
        with pytest.raises(ValueError, match="time cannot go back"):
            advance(profile(), Cursor(), 20.0, None, dt_s)


def test_preview_sees_the_end_of_the_ramp_and_of_the_soak() -> None:
    cursor = Cursor(setpoint_c=213.0)
    assert preview(profile(), cursor, 30.0) == pytest.approx(215.5)
    assert preview(profile(), cursor, 600.0) == 218.0
    assert preview(profile(), cursor, 8000.0) is None


@given(
    st.lists(
        st.tuples(st.floats(-20, 900), st.floats(0, 500), st.sampled_from([None, "done", "wait"])),
        max_size=60,
    )
)
def test_credit_never_exceeds_the_time_that_passed(ticks: list[tuple[float, float, str | None]]) -> None:
    cursor, passed_s = Cursor(), 0.0
    for process_c, dt_s, reply in ticks:
        before = cursor
        cursor = advance(profile(), cursor, process_c, None, dt_s, reply)  # type: ignore[arg-type]
        passed_s += dt_s
        assert cursor.soak_oven_s <= passed_s + 1e-6
        assert cursor.segment >= before.segment
        assert cursor.setpoint_c is None or cursor.setpoint_c <= 218.0 + 1e-9 or before.setpoint_c is not None


def test_a_soak_that_is_never_credited_has_an_end() -> None:
    longest_s = 2 * 7200.0 + 7200.0
    late = advance(profile(), at(1, segment_s=longest_s - 0.5), 230.0, None, 1.0)
    assert (late.ending, late.setpoint_c) == ("not reached", None)
    assert advance(profile(), at(1, segment_s=longest_s - 1.5), 230.0, None, 1.0).ending == ""
    short = profile(TEMPER.replace('time = "2h"', 'time = "2h"\nat_most = "3h"'))
    assert advance(short, at(1, segment_s=10799.5), 230.0, None, 1.0).ending == "not reached"


LOWERED = TEMPER.replace('time = "2h"', 'time = "2h"\nsensor = "210 C"\nclock = "part"')


def numbers(text: str) -> SoakNumbers:
    soak = profile(text).segments[1]
    assert isinstance(soak, Soak)
    return numbers_of(soak)


def test_the_numbers_of_a_soak_are_those_of_the_file() -> None:
    # held 8 K lower than its goal; two hours, and twice that and two hours at most
    assert numbers(LOWERED) == SoakNumbers(210.0, 5.0, 205.0, 223.0, 7200.0, 21_600.0, by_part=True)
    assert numbers(TEMPER) == SoakNumbers(218.0, 5.0, 213.0, 223.0, 7200.0, 21_600.0, by_part=False)


@pytest.mark.parametrize("text", [TEMPER, LOWERED])
@given(st.floats(190.0, 230.0), st.none() | st.floats(190.0, 230.0), st.floats(7198.0, 7202.0))
def test_a_soak_goes_on_alike_with_its_numbers_at_hand(
    text: str, process_c: float, part_c: float | None, credited_s: float
) -> None:
    now = at(1, soak_oven_s=credited_s, soak_part_s=credited_s - 1.0)
    known = numbers(text)
    alone = advance(profile(text), now, process_c, part_c, 1.0)
    assert advance(profile(text), now, process_c, part_c, 1.0, soak=known) == alone
    for ahead_s in (0.0, 1.0, 2.0, 60.0):
        assert preview(profile(text), now, ahead_s, known) == preview(profile(text), now, ahead_s)
