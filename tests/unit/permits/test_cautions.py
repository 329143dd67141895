import pytest

from kilnctl.config import home
from kilnctl.config.oven import load_oven
from kilnctl.permits.cautions import cautions, check_start, on_screen
from kilnctl.readings import Quality, Reading, Scan


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
