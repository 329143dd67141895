"""One judgement for every start: what is missing is named, what is granted needs every line and a person."""

import dataclasses

import pytest

from kilnctl.config import home
from kilnctl.config.oven import Oven
from kilnctl.errors import ConfigError, ProfileError
from kilnctl.heat.job import Job
from kilnctl.link.start import StartJob
from kilnctl.permits.fingerprint import fingerprint
from kilnctl.permits.needed_steps import TEMPER_C
from kilnctl.permits.open_steps import StepResult
from kilnctl.permits.permit import StartFacts, permit, permit_drill
from kilnctl.permits.setup_steps import STEPS
from kilnctl.profile.segments import Profile
from kilnctl.tomlfile import loads
from kilnctl.units import DAY_S

NOW = 1_800_000_000.0  # 2027-01-15
TEXT = (home.bundled("ovens") / "tempering-oven.toml").read_text(encoding="utf-8")
LIVE = TEXT.replace("simulated = true\n", "").replace('limit = "260 C"', 'limit = "800 C"').replace(
    'high = "400 C"', 'high = "900 C"'
)  # fmt: skip
SECOND = """
[signal.second]
device = "board"
table = "input"
register = 1
scale = 0.1
unit = "C"
low = "-30 C"
high = "900 C"
couple = "N"
"""


def oven_of(text=LIVE) -> Oven:
    return loads(text, Oven, ConfigError, "oven.toml")


def profile(at="218 C", purpose="temper") -> Profile:
    text = f'name = "p"\n[[segment]]\nkind = "soak"\nat = "{at}"\ntime = "2h"\npurpose = "{purpose}"\n'
    return loads(text, Profile, ProfileError, "p")


def all_done(oven, **but):
    data = {"tested": {"horn": "yes", "bell": "failed"}}
    done = {
        step.name: StepResult(True, NOW - DAY_S, 4.2, NOW + DAY_S, "abc", data, fingerprint(step.name, oven))
        for step in STEPS
    }
    return done | but


def judged(oven=None, at="218 C", purpose="temper", job=None, done=None, facts=None, **start):
    oven = oven or oven_of()
    asked = {
        "oven": "text",
        "profile": profile(at, purpose),
        "off_stamp": {},
        "presence": "own screen",
        "unattended": True,
    }
    asked |= start
    todo = Job(profile(at, purpose), unattended=asked["unattended"], **(job or {}))
    so = {"now_s": NOW, "done": all_done(oven) if done is None else done, "oven_hash": "abc", "barred": ""}
    so |= {"free_bytes": 10**9, "challenge": ""} | (facts or {})
    return permit(StartJob(**asked), oven, todo, StartFacts(**so))


def granted(**more):
    """Judge once to see the lines, then again with all of them acknowledged."""
    return judged(**{"acknowledged": judged(**more).lines, **more})


def test_all_fresh_shows_six_lines_with_live_values_and_grants_when_all_are_taken() -> None:
    first = judged(job={"resume_within_s": 600.0})
    assert (first.refusals, first.granted, len(first.lines)) == ((), False, 6)
    text = "\n".join(first.lines)
    for words in ("2027-01-14", "4.2 s", "within 10 min", oven_of().isolator):
        assert words in text
    assert "stay off" in "\n".join(judged().lines)
    assert granted().granted


def test_what_unattended_means_is_said_where_it_is_asked_for() -> None:
    assert "Never asleep, never away" in judged().means
    assert judged(unattended=False).means == ""


@pytest.mark.parametrize("left", range(6))
def test_no_line_can_be_skipped(left: int) -> None:
    lines = judged().lines
    assert not judged(acknowledged=lines[:left] + lines[left + 1 :]).granted


@pytest.mark.parametrize(
    "more",
    [
        {"facts": {"challenge": "too old"}},
        {"presence": "asked"},
        {"presence": "nobody"},
        {"facts": {"off_since": "off was asked at 14:05:03"}},
        {"facts": {"barred": "the oven tripped"}},
        {"facts": {"free_bytes": 10}},
        {"facts": {"care": ("good only to 8.2 K at 1000 °C",)}},
        {"done": {}},
        {"time_scale": 2.0},
        {"at": "800 C"},
    ],
)
def test_nothing_is_granted_where_one_thing_is_missing(more) -> None:
    assert granted(unattended=False).granted
    assert not granted(unattended=False, **more).granted


@pytest.mark.parametrize("name", ["dead-man test", "limit test", "fire equipment", "horn and messages"])
def test_each_missing_step_is_named(name) -> None:
    rest = {k: v for k, v in all_done(oven_of()).items() if k != name}
    assert judged(done=rest).refusals == (f"{name}: never done",)


@pytest.mark.parametrize(
    "more",
    [
        {"kind": "pulse", "holds": "3 s"},
        {"kind": "set-point", "unit": "C", "park": "0 C", "link_loss": "drops"},
        {"kind": "set-point", "unit": "C", "park": "0 C", "link_loss": "holds"},
    ],
)
def test_an_output_that_drops_by_itself_or_is_attended_needs_no_other_dead_man(more) -> None:
    plain, live = {"device": "board", "table": "holding", "register": 5}, oven_of()
    heater = type(live.output.heater).model_validate(plain | more)
    output = live.output.model_copy(update={"heater": heater})
    other = live.model_copy(update={"dead_man": None, "output": output})
    assert not any("no dead-man" in line for line in judged(other, unattended=False).refusals)


def test_no_dead_man_no_live_heat_attended_or_not() -> None:
    bare = oven_of().model_copy(update={"dead_man": None})
    for unattended in (True, False):
        assert any("no dead-man" in line for line in judged(bare, unattended=unattended).refusals)


@pytest.mark.parametrize("purpose", ["harden", "first firing", "tune"])
def test_what_is_never_left_alone(purpose) -> None:
    for oven in (oven_of(), oven_of(TEXT)):
        assert any("never left alone" in why for why in judged(oven, "200 C", purpose).refusals)
    assert not judged(at="200 C", purpose=purpose, unattended=False).refusals


def test_a_hot_unattended_heat_needs_a_second_sensor() -> None:
    assert "second sensor" in judged(at="650 C", purpose="stress relief").refusals[0]
    assert not judged(oven_of(LIVE + SECOND), "650 C", "stress relief").refusals
    assert not judged(at=f"{TEMPER_C:.1f} C").refusals
    assert any("second sensor" in why for why in judged(at=f"{TEMPER_C + 0.1:.1f} C").refusals)


def test_an_attended_heat_asks_one_line() -> None:
    result = judged(unattended=False)
    assert len(result.lines) == 1
    assert oven_of().isolator in result.lines[0]


def test_a_heat_taken_up_by_one_key_asks_one_line_and_still_needs_the_set_up() -> None:
    one = judged(resumes=7, way="alone", job={"resumes": 7})
    assert len(one.lines) == 1
    assert "run 7" in one.lines[0]
    assert judged(resumes=7, way="alone", job={"resumes": 7}, done={}).refusals


def test_a_simulated_oven_passes_the_same_judgement_and_asks_nothing() -> None:
    result = judged(oven_of(TEXT), done={}, presence="nobody", facts={"challenge": "nobody was asked"})
    assert (result.granted, result.asked, len(result.lines)) == (True, False, 6)
    off = {"challenge": "", "off_since": "off was asked at 14:05:03"}
    assert not judged(oven_of(TEXT), done={}, facts=off).granted


def test_a_recording_needs_no_set_up_and_still_loses_against_off() -> None:
    watching = {"job": {"record_only": True}, "done": {}, "presence": "nobody"}
    assert judged(**watching).granted
    assert not judged(**watching, facts={"off_since": "off was asked at 14:05:03"}).granted


def test_a_heat_that_waits_in_the_house_alone_asks_for_a_door_switch() -> None:
    """HAZARDS: somebody may have put something inside since."""
    waits = {"job": {"wait_s": 3600.0}}
    assert not judged(**waits).refusals
    start, end = LIVE.index("[signal.door_open]"), LIVE.index("[output.heater]")
    doorless = oven_of(LIVE[:start] + LIVE[end:])
    assert any("needs a door switch" in why for why in judged(doorless, **waits).refusals)
    assert not judged(doorless).refusals
    assert not judged(doorless.model_copy(update={"simulated": True}), **waits).refusals


def test_the_page_says_which_means_of_calling_were_tested_and_when() -> None:
    live = oven_of()
    lampless = live.model_copy(update={"output": live.output.model_copy(update={"lamp": None})})
    said = judged(lampless).told_by
    for words in ("horn tested 2027-01-14", "lamp not fitted", "bell FAILED its test 2027-01-14",
                  "messages never tested", "None of them makes the oven safe"):  # fmt: skip
        assert words in said


def without(oven, *names):
    return {k: v for k, v in all_done(oven).items() if k not in names}


@pytest.mark.parametrize(
    ("text", "names", "proved"),
    [
        (LIVE, ("known temperature", "reference check"), False),
        (LIVE, ("known temperature",), True),
        (LIVE, ("reference check",), True),
        (LIVE + SECOND, ("known temperature", "reference check"), True),
        (LIVE + SECOND.replace('"N"', '"K"'), ("known temperature", "reference check"), False),
        # R and S part by 0.1 K in boiling water (IEC 60584-1): a reference up to 500 °C is asked for
        (LIVE.replace('couple = "K"', 'couple = "S"'), ("reference check",), False),
    ],
)
def test_a_wrong_type_of_sensor_is_barred_unattended_and_said_attended(text, names, proved) -> None:
    oven = oven_of(text)
    done = without(oven, *names)
    alone, beside = judged(oven, done=done), judged(oven, done=done, unattended=False)
    assert any("sensor's type" in why for why in alone.refusals) is not proved
    assert not beside.refusals
    assert any("sensor's type" in note for note in beside.notes) is not proved


def test_a_start_that_names_another_job_than_the_one_acknowledged_has_another_key() -> None:
    from kilnctl.link.start import job_key

    start = StartJob("oven", profile("218 C", "temper"), {})
    assert job_key(start) == job_key(dataclasses.replace(start, challenge="x", presence="lamp"))
    for field, value in (
        ("oven", "o"),
        ("profile", profile("219 C", "temper")),
        ("unattended", True),
        ("wait_s", 5.0),
    ):
        assert job_key(start) != job_key(dataclasses.replace(start, **{field: value}))


def drilled(step: str, oven: Oven, done: dict[str, StepResult] | None = None, off_since: str = "") -> str:
    found = all_done(oven) if done is None else done
    return "; ".join(permit_drill(step, oven, found, NOW, "abc", off_since))


def test_a_drill_needs_the_steps_before_it_and_no_off_since() -> None:
    oven = oven_of()
    assert drilled("dead-man test", oven) == ""
    assert "bus check" in drilled("dead-man test", oven, {})
    assert (
        drilled("dead-man test", oven, off_since="off was asked at 14:05:03") == "off was asked at 14:05:03"
    )


def test_without_a_dead_man_no_drill_heats_a_live_oven() -> None:
    live = oven_of().model_copy(update={"dead_man": None})
    assert not live.has_dead_man
    assert "no dead-man" in drilled("heater pulse", live)
    assert drilled("heater pulse", live.model_copy(update={"simulated": True})) == ""
