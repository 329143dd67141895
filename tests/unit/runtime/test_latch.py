import json
from datetime import UTC, datetime, timedelta

import pytest

from kilnctl.config import home
from kilnctl.errors import RecordError, RunRefused
from kilnctl.readings import ResetClass, Trip
from kilnctl.runtime import durable, latch
from kilnctl.runtime.latch import Latch

NOW = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)
STUCK = Trip("heat_without_demand", "the element is live", 12.0, reset=ResetClass.A)


@pytest.fixture(autouse=True)
def _own_home(tmp_path, monkeypatch):
    monkeypatch.setenv("KILNCTL_HOME", str(tmp_path))


def armed(at=NOW):
    one = Latch("small oven", lambda: at, run=7)
    one.arm()
    return one


def test_the_file_is_there_before_heat_and_gone_after_a_verified_end():
    one = armed()
    assert latch.read("small oven").state == "armed"
    one.release()
    assert latch.read("small oven") is None
    one.release()  # twice is no error


def test_a_cut_in_a_run_leaves_the_oven_latched_as_interrupted():
    armed()
    with pytest.raises(RunRefused, match="interrupted"):
        armed()


def test_a_trip_is_on_disk_with_its_reason_and_survives_a_restart():
    armed().trip(STUCK)
    said = latch.read("small oven")
    assert (said.state, said.kind, said.reason, said.run) == (
        "tripped",
        "heat_without_demand",
        "the element is live",
        7,
    )
    with pytest.raises(RunRefused, match="the element is live"):
        latch.refuse_latched("small oven")
    assert [s.oven for s in latch.latched_ovens()] == ["small oven"]


def watching():
    one = Latch("small oven", lambda: NOW, run=8, watches=True)
    one.arm()
    return one


def test_a_run_that_only_watches_touches_no_latch():
    watching()
    assert latch.read("small oven") is None  # killed now, it leaves nothing behind
    armed().trip(STUCK)
    one = watching()
    one.trip(Trip("smoke", "the smoke detector speaks", 3.0))
    one.release()
    assert latch.read("small oven").reason == "the element is live"


def test_a_trip_while_only_watching_latches_a_free_oven():
    watching().trip(STUCK)
    assert latch.read("small oven").run == 8


def test_a_trip_that_cannot_be_written_leaves_the_oven_latched(monkeypatch):
    one = armed()

    def full(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(durable, "write", full)
    one.trip(STUCK)
    assert latch.read("small oven").state == "armed"


def test_without_a_latch_on_disk_there_is_no_heat(monkeypatch):
    def full(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(durable, "write", full)
    with pytest.raises(RecordError, match="nothing was heated"):
        armed()


GOOD_TEXT = json.dumps(
    {"state": "armed", "oven": "small oven", "utc": "2026-11-25T12:00:00+00:00", "reset": "A"}
)


@pytest.mark.parametrize(
    "text",
    [
        "",
        "{",
        "[]",
        "null",
        '"armed"',
        "{}",
        GOOD_TEXT.replace("armed", "fine"),
        GOOD_TEXT.replace("small oven", "another"),
        GOOD_TEXT.replace('"A"', '"D"'),
        GOOD_TEXT.replace("2026-11-25T12:00:00+00:00", "yesterday"),
        GOOD_TEXT.replace("{", '{"surprise": 1, '),
    ],
)
def test_an_unreadable_latch_counts_as_latched(text):
    (home.latch_dir() / "small oven.json").write_text(text)
    assert latch.read("small oven").state == "unreadable"
    with pytest.raises(RunRefused, match="cannot be read"):
        armed()


def test_bytes_that_are_no_text_count_as_latched():
    (home.latch_dir() / "small oven.json").write_bytes(b"\xff\xfe\x00")
    assert latch.read("small oven").state == "unreadable"


def test_the_text_those_were_made_from_is_readable():
    (home.latch_dir() / "small oven.json").write_text(GOOD_TEXT)
    assert latch.read("small oven").state == "armed"


def test_a_reset_asks_for_a_note():
    armed().trip(STUCK)
    with pytest.raises(RunRefused, match="few words"):
        latch.reset("small oven", " ok ", NOW)
    latch.reset("small oven", "relay replaced", NOW)
    assert latch.read("small oven") is None
    with pytest.raises(RunRefused, match="not latched"):
        latch.reset("small oven", "relay replaced", NOW)


def trip_and_reset(kind, at):
    armed(at).trip(Trip(kind, "for the test", 0.0))
    said = latch.read("small oven")
    reset = latch.needed(said, at)
    latch.reset("small oven", "found and mended", at)
    return reset


@pytest.mark.parametrize(("kind", "raised"), [("heat_without_demand", "C"), ("link_lost", "B")])
def test_the_third_trip_of_a_kind_in_a_day_asks_for_more(kind, raised):
    hours = (0, 1, 2)
    resets = [trip_and_reset(kind, NOW + timedelta(hours=h)) for h in hours]
    assert resets == ["A", "A", raised]
    assert trip_and_reset(kind, NOW + timedelta(hours=30)) == "A"


def test_trips_of_other_kinds_do_not_count():
    kinds = ("link_lost", "sensor_lost", "stalled", "link_lost")
    assert [trip_and_reset(kind, NOW) for kind in kinds] == ["A"] * 4


def test_an_unreadable_list_of_trips_counts_as_full():
    armed().trip(STUCK)
    (home.latch_dir() / "small oven.trips").write_text("{broken")
    assert latch.needed(latch.read("small oven"), NOW) is ResetClass.C


def test_what_stands_in_the_way_is_named():
    armed().trip(Trip("over_temperature", "866", 0.0, reset=ResetClass.B, repeat_step="limit test"))
    said = latch.read("small oven")
    missing = latch.why_not_reset(said, NOW, 12.0, [], False)
    assert len(missing) == 2
    assert "30 s" in missing[0]
    assert "limit test" in missing[1]
    assert latch.why_not_reset(said, NOW, 30.0, ["limit test"], False) == []


def test_a_repair_is_not_software_s_to_believe_alone():
    armed().trip(Trip("smoke", "the detector speaks", 0.0, reset=ResetClass.C))
    said = latch.read("small oven")
    assert len(latch.why_not_reset(said, NOW, 60.0, [], True)) == 1
    everything = list(latch.AFTER_REPAIR)
    assert len(latch.why_not_reset(said, NOW, 60.0, everything, False)) == 1
    assert latch.why_not_reset(said, NOW, 60.0, everything, True) == []


def test_an_oven_s_name_is_no_path():
    one = Latch("../../etc/passwd", lambda: NOW)
    one.arm()
    assert [path.parent for path in home.latch_dir().iterdir()] == [home.latch_dir()]


def test_a_note_of_five_characters_is_the_shortest():
    with pytest.raises(RunRefused, match="few words"):
        latch.check_note(" abcd ")
    latch.check_note("abcde")


def test_the_run_that_arms_stands_in_the_file():
    one = Latch("small oven", lambda: NOW, run=7)
    one.arm(9)
    assert latch.read("small oven").run == 9
