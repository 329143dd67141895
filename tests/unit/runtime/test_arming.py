import pytest

from kilnctl.config import home
from kilnctl.config.oven import load_oven
from kilnctl.errors import ProfileError
from kilnctl.profile.segments import Profile
from kilnctl.readings import Quality, Reading, Scan
from kilnctl.runtime.arming import arm, cautions, check_start, on_screen, on_trip
from kilnctl.runtime.steps import DAY_S, STEPS, TEMPER_C, Done
from kilnctl.tomlfile import loads

NOW = 1_800_000_000.0  # 2027-01-15
ALL = {step.name: Done(True, NOW - DAY_S, 4.2, NOW + DAY_S, "abc") for step in STEPS}


def profile(at="218 C", purpose="temper"):
    text = f'name = "p"\n[[segment]]\nkind = "soak"\nat = "{at}"\ntime = "2h"\npurpose = "{purpose}"\n'
    return loads(text, Profile, ProfileError, "p")


@pytest.fixture
def simulated():
    return load_oven(home.bundled("ovens") / "hardening-furnace.toml")


@pytest.fixture
def live(simulated):
    return simulated.model_copy(update={"simulated": False})


def armed(oven, what=None, **changes):
    given = {"unattended": True, "done": ALL, "now_s": NOW, "oven_hash": "abc", "terminal": True} | changes
    return arm(oven, what or profile(), **given)


def test_all_fresh_arms_and_shows_six_lines_with_live_values(live):
    result = armed(live, resume_min=10.0)
    assert result.refusals == ()
    assert len(result.lines) == 6
    text = "\n".join(result.lines)
    assert "2027-01-14" in text
    assert "4.2 s" in text
    assert "within 10 min" in text
    assert live.isolator in text
    assert "stay off" in "\n".join(armed(live).lines)


@pytest.mark.parametrize("name", ["dead-man test", "limit test", "fire equipment", "horn and messages"])
def test_each_missing_item_is_named(live, name):
    rest = {k: v for k, v in ALL.items() if k != name}
    assert armed(live, done=rest).refusals == (f"{name}: never done",)


@pytest.mark.parametrize(
    "more",
    [
        {"kind": "pulse", "holds": "3 s"},
        {"kind": "set-point", "unit": "C", "park": "0 C", "link_loss": "drops"},
        {"kind": "set-point", "unit": "C", "park": "0 C", "link_loss": "holds"},
    ],
)
def test_an_output_that_drops_by_itself_or_is_attended_needs_no_other_dead_man(live, more):
    plain = {"device": "board", "table": "holding", "register": 5}
    heater = type(live.output.heater).model_validate(plain | more)
    output = live.output.model_copy(update={"heater": heater})
    other = live.model_copy(update={"dead_man": None, "output": output})
    assert not any("dead-man in" in line for line in armed(other, unattended=False).refusals)


def test_no_dead_man_no_live_heat_attended_or_not(live):
    bare = live.model_copy(update={"dead_man": None})
    for unattended in (True, False):
        assert "no dead-man" in armed(bare, unattended=unattended).refusals[0]


def test_without_a_terminal_nothing_live_begins(live):
    assert "terminal" in armed(live, terminal=False).refusals[0]


@pytest.mark.parametrize("purpose", ["harden", "first firing", "tune"])
def test_what_is_never_left_alone(live, simulated, purpose):
    for oven in (live, simulated):
        assert "never left alone" in armed(oven, profile("200 C", purpose)).refusals[0]
    assert not armed(live, profile("200 C", purpose), unattended=False).refusals


def test_a_hot_unattended_heat_needs_a_second_sensor(live):
    assert "second sensor" in armed(live, profile("650 C", "stress relief")).refusals[0]
    signals = live.signal.model_copy(update={"second": live.signal.process})
    assert not armed(live.model_copy(update={"signal": signals}), profile("650 C", "stress relief")).refusals


def test_an_attended_heat_asks_one_line(live):
    result = armed(live, unattended=False)
    assert len(result.lines) == 1
    assert live.isolator in result.lines[0]


def test_a_simulated_oven_shows_the_lines_and_asks_nothing(simulated):
    result = armed(simulated, done={}, terminal=False)
    assert result.refusals == ()
    assert len(result.lines) == 6
    assert not result.asked


def test_the_words_of_caution_name_isolator_cause_and_phone(live):
    assert live.isolator in on_screen(live)
    said = on_trip(live, "866 °C")
    assert "866 °C" in said
    assert live.phone in said
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


def test_the_page_says_which_means_of_calling_were_tested_and_when(live):
    tested = {"tested": {"horn": "yes", "bell": "failed"}}
    done = ALL | {"horn and messages": Done(True, NOW - DAY_S, data=tested)}
    said = armed(live.model_copy(update={"output": live.output.model_copy(update={"lamp": None})}), done=done)
    assert "horn tested 2027-01-14" in said.told_by
    assert "lamp not fitted" in said.told_by
    assert "bell FAILED its test 2027-01-14" in said.told_by
    assert "messages never tested" in said.told_by
    assert "None of them makes the oven safe" in said.told_by


def test_up_to_the_hottest_temper_one_sensor_will_do(live):
    assert not armed(live, profile(f"{TEMPER_C:.1f} C")).refusals
    above = armed(live, profile(f"{TEMPER_C + 0.1:.1f} C")).refusals
    assert any("second sensor" in refusal for refusal in above)


def test_a_first_reading_that_is_not_confirmed_is_no_reading():
    unsure = Reading(20.0, 0.0, Quality.UNCONFIRMED)
    assert check_start(Scan(0.0, unsure, False), 1.0).refuse == ("no temperature: jump not confirmed",)


@pytest.mark.parametrize(
    ("second_c", "refused", "asked"), [(25.0, 0, 0), (25.1, 0, 1), (28.0, 0, 1), (28.1, 1, 0)]
)
def test_the_second_sensor_must_agree_on_a_cold_oven(second_c, refused, asked):
    found = check_start(Scan(0.0, Reading.of(20.0, 0.0), False, second=Reading.of(second_c, 0.0)), 1.0)
    assert (len(found.refuse), len(found.ask)) == (refused, asked)
