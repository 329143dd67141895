import pytest

from kilnctl.config import home
from kilnctl.config.oven import load_oven
from kilnctl.errors import ProfileError
from kilnctl.permits.cautions import cautions, check_start, first_goal_c, on_screen
from kilnctl.profile.segments import Profile
from kilnctl.readings import Quality, Reading, Scan
from kilnctl.tomlfile import loads


def test_the_words_of_caution_name_the_isolator_and_the_local_codes():
    live = load_oven(home.bundled("ovens") / "hardening-furnace.toml")
    assert live.isolator in on_screen(live)
    assert "not a safety device" in cautions().before_anything
    assert "local electrical and fire codes" in cautions().before_anything


def scan(process_c, **more):
    return Scan(0.0, Reading.of(process_c, 0.0), False, **more)


def test_a_cold_module_in_fahrenheit_is_refused():
    # 20 degC is 68 degF
    assert "unit" in check_start(scan(68.0), None).refuse[0]
    assert check_start(scan(20.0), None) == check_start(scan(33.0), 48.0)
    assert not check_start(scan(20.0), None).refuse


def test_a_room_sensor_asks_above_5_k_and_refuses_above_8():
    room = Reading.of(20.0, 0.0)
    assert not check_start(scan(24.5, ambient=room), None).ask
    assert "differ by 6 K" in check_start(scan(26.0, ambient=room), None).ask["the room"]
    assert check_start(scan(28.5, ambient=room), None).refuse
    assert check_start(scan(45.0, cold_junction=room), None).refuse
    assert not check_start(scan(180.0, ambient=room), 1.0).refuse  # still warm from the last heat


def test_open_door_open_limit_and_no_reading_are_refused():
    assert check_start(scan(20.0, door_open=True), None).refuse
    assert check_start(scan(20.0, limit_open=True), None).refuse
    assert check_start(scan(float("nan")), None).refuse


def test_a_first_reading_that_is_not_confirmed_is_no_reading():
    unsure = Reading(20.0, 0.0, Quality.UNCONFIRMED)
    assert check_start(Scan(0.0, unsure, False), 1.0).refuse == ("no temperature: jump not confirmed",)


@pytest.mark.parametrize(
    ("second_c", "refused", "asked"), [(25.0, 0, 0), (25.1, 0, 1), (28.0, 0, 1), (28.1, 1, 0)]
)
def test_the_second_sensor_must_agree_on_a_cold_oven(second_c, refused, asked):
    found = check_start(Scan(0.0, Reading.of(20.0, 0.0), False, second=Reading.of(second_c, 0.0)), 1.0)
    assert (len(found.refuse), len(found.ask)) == (refused, asked)


@pytest.mark.parametrize(("reads_c", "refused"), [(20.0, False), (237.0, False), (239.0, True)])
def test_no_part_lies_in_an_oven_that_is_hotter_than_its_first_step(reads_c: float, refused: bool) -> None:
    """A temper was begun at 200 degC in a furnace that another heat had left at 520 degC."""
    found = check_start(scan(reads_c), 1.0, 218.0).refuse
    assert bool(found) is refused
    assert not refused or "keep the part out until the oven is no hotter" in found[0]


def test_the_first_goal_is_that_of_a_part_inside() -> None:
    temper = '[[segment]]\nkind = "ramp"\nto = "218 C"\nrate = "180 C/h"\n'
    load = '[[segment]]\nkind = "operator"\nstep = "load"\nsay = "Put it in."\nat_most = "10 min"\n'
    cool = '[[segment]]\nkind = "cool"\nto = "45 C"\n'
    head = 'name = "a job"\nsteel = "O1"\nsection = "4 mm"\n'
    made = [
        loads(head + first, Profile, ProfileError, "a job")
        for first in (temper, load + temper, cool + temper)
    ]
    assert [first_goal_c(one) for one in made] == [218.0, None, None]


def test_others_near_the_oven_stand_in_every_caution_before_a_heat():
    """A child, an animal or a visitor cannot tell hot steel from cold (a blind examiner found none of it)."""
    words = cautions()
    assert "no child, animal or visitor" in words.attended
    assert any("no child or animal" in line for line in words.unattended)
    assert "Keep children, animals and onlookers out" in words.before_anything
