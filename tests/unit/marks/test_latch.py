import contextlib
import json
import os
import shutil
import subprocess
from datetime import UTC, datetime, timedelta

import pytest

from kilnctl.config import home
from kilnctl.config.oven import load_oven
from kilnctl.errors import RecordError, RunRefused
from kilnctl.marks import durable_write, latch, latch_file
from kilnctl.marks.latch import Latch, Latched, OvenIdentity, identity_of, why_another
from kilnctl.marks.off_stamp import Outlet, outlets
from kilnctl.readings import ResetClass, Trip

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


def full(*_):
    raise OSError(28, "No space left on device")


def test_d7_a_trip_needs_no_room_on_a_full_disk(monkeypatch):
    one = armed()
    monkeypatch.setattr(latch_file, "renew", full)  # no new file, no longer file
    monkeypatch.setattr(durable_write, "write", full)
    one.trip(STUCK)
    assert latch.read("small oven").state == "tripped"


@pytest.mark.skipif(os.getuid() != 0 or shutil.which("mount") is None, reason="mounts a small disk")
def test_d7_a_trip_is_latched_on_a_disk_that_is_really_full(tmp_path, monkeypatch):
    if subprocess.run(["mount", "-t", "tmpfs", "-o", "size=256k", "none", tmp_path], check=False).returncode:
        pytest.skip("this machine lets nobody mount")
    try:
        one = armed()
        with contextlib.suppress(OSError), (tmp_path / "filler").open("wb", buffering=0) as filler:
            while True:
                filler.write(bytes(4096))
        with pytest.raises(OSError, match="No space"):
            (tmp_path / "more").write_bytes(bytes(100))
        one.trip(STUCK)
        assert latch.read("small oven").state == "tripped"
        with pytest.raises(RecordError, match="nothing was heated"):
            Latch("another", lambda: NOW).arm()
        assert latch.read("another") is None
    finally:
        subprocess.run(["umount", tmp_path], check=True)


def test_a_trip_that_cannot_be_written_leaves_the_oven_latched(monkeypatch):
    one = armed()
    monkeypatch.setattr(latch_file, "write", full)
    one.trip(STUCK)
    assert latch.read("small oven").state == "armed"


def test_without_a_latch_on_disk_there_is_no_heat(monkeypatch):
    monkeypatch.setattr(latch_file, "renew", full)
    with pytest.raises(RecordError, match="nothing was heated"):
        armed()


def place():
    return home.latch_dir() / "small oven.latch"


GOOD = {"state": "armed", "oven": "small oven", "utc": "2026-11-25T12:00:00+00:00", "reset": "A"}


@pytest.mark.parametrize(
    "change",
    [
        {"state": "fine"},
        {"oven": "another"},
        {"reset": "D"},
        {"utc": "yesterday"},
        {"surprise": 1},
        {"kind": 3},
        {"escalations": "x\n"},
        {"identity": 7},
        {"run": "7"},
    ],
)
def test_an_entry_that_cannot_be_counts_as_latched(change):
    latch_file.renew(place(), {**GOOD, **change})
    assert latch.read("small oven").state == "unreadable"
    with pytest.raises(RunRefused, match="cannot be read"):
        armed()


@pytest.mark.parametrize("raw", [b"", b"{}", b"\xff\xfe\x00", bytes(latch_file.SIZE), b"9" * latch_file.SIZE])
def test_a_file_of_anything_else_counts_as_latched(raw):
    place().write_bytes(raw)
    assert latch.read("small oven").state == "unreadable"


def test_the_entry_those_were_made_from_is_readable():
    latch_file.renew(place(), GOOD)
    assert latch.read("small oven").state == "armed"


@pytest.mark.parametrize("torn", range(0, latch_file.SLOT_SIZE, 97))
def test_a_write_torn_at_any_byte_leaves_the_oven_latched(torn):
    one = armed()
    before = place().read_bytes()
    one.trip(STUCK)
    after = place().read_bytes()
    at = 0 if before[: latch_file.SLOT_SIZE] != after[: latch_file.SLOT_SIZE] else latch_file.SLOT_SIZE
    mixed = bytearray(before)
    mixed[at : at + torn] = after[at : at + torn]
    place().write_bytes(mixed)
    # Once the write of the trip has begun it must not read as an interrupted heat, which could be taken up.
    assert latch.read("small oven").state in (("tripped", "unreadable") if torn else ("armed",))


def test_a_torn_entry_beside_free_is_not_free():
    one = armed()
    one.release()
    raw = bytearray(place().read_bytes())
    free = 0 if b'"free"' in raw[: latch_file.SLOT_SIZE] else latch_file.SLOT_SIZE
    other = latch_file.SLOT_SIZE - free
    raw[other : other + 10] = b"0123456789"
    place().write_bytes(raw)
    assert latch.read("small oven").state == "unreadable"


def test_the_file_stays_and_is_overwritten_in_place():
    one = armed()
    inode = place().stat().st_ino
    for _ in range(5):
        one.trip(STUCK)
        one.release()
        one.arm()
    assert (place().stat().st_ino, place().stat().st_size) == (inode, latch_file.SIZE)


def test_w9_a_folder_removed_in_mid_run_loses_no_trip():
    one = armed()
    shutil.rmtree(home.latch_dir())
    one.trip(STUCK)
    assert latch.read("small oven").state == "tripped"


@pytest.mark.parametrize(
    "sign", ["running/small oven.toml", "running/small oven.ended", "hot/small oven.json"]
)
def test_w9_a_latch_that_is_gone_though_the_oven_has_heated_is_a_latch(sign):
    path = home.home() / sign
    path.parent.mkdir()
    path.write_text("")
    assert latch.read("small oven").state == "missing"
    assert [said.oven for said in latch.latched_ovens()] == ["small oven"]
    with pytest.raises(RunRefused, match="is gone"):
        armed()
    latch.reset("small oven", "the folder was cleaned away", NOW)
    assert latch.read("small oven") is None
    armed()


def test_a_link_in_the_place_of_a_latch_is_not_followed(tmp_path):
    (tmp_path / "victim").write_text("precious")
    place().symlink_to(tmp_path / "victim")
    assert latch.read("small oven").state == "unreadable"
    Latch("small oven", lambda: NOW).trip(STUCK)
    assert (tmp_path / "victim").read_text() == "precious"


def test_a_later_finding_escalates_and_never_lowers():
    one = armed()
    one.trip(Trip("over_temperature", "270 °C", 1.0, reset=ResetClass.B))
    one.escalate("still rising after off", ResetClass.C)
    one.escalate("not read back")
    one.trip(Trip("over_temperature", "270 °C; then worse", 2.0, reset=ResetClass.A))
    said = latch.read("small oven")
    assert (said.kind, said.reset) == ("over_temperature", "C")
    assert said.escalations == ("still rising after off", "not read back")
    assert "still rising" in said.line()


def test_words_longer_than_the_room_are_cut_and_the_trip_is_kept():
    one = armed()
    one.trip(Trip("smoke", "\N{FIRE}" * 50_000, 1.0))
    for number in range(30):
        one.escalate(f"{number} " + "\N{FIRE}" * 1000)
    assert latch.read("small oven").state == "tripped"


AT = OvenIdentity((Outlet("/dev/x", "1-coil-0"),))


def test_an_oven_of_another_name_on_the_same_device_is_latched_too():
    Latch("small oven", lambda: NOW, identity=AT).arm()
    with pytest.raises(RunRefused, match="small oven"):
        Latch("copied", lambda: NOW, identity=AT).arm()
    Latch("beside", lambda: NOW, identity=OvenIdentity((Outlet("/dev/x", "2-coil-0"),))).arm()


def test_d10_a_twin_is_another_oven():
    oven = load_oven(home.bundled("ovens") / "tempering-oven.toml")
    mine = Latched("tripped", oven.name, "", identity=identity_of(oven))
    assert why_another(mine, oven) == ""
    live = oven.model_copy(update={"simulated": False})
    assert "live" in why_another(Latched("tripped", oven.name, "", identity=identity_of(live)), oven)
    moved = Latched("tripped", oven.name, "", identity=AT)
    assert "/dev/x" in why_another(moved, oven)


@pytest.mark.parametrize("path", sorted(home.bundled("ovens").glob("*.toml")), ids=lambda path: path.stem)
def test_an_identity_is_that_of_the_off_stamp(path):
    assert set(identity_of(load_oven(path)).at) <= set(outlets(path.read_text(encoding="utf-8")))


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


@pytest.mark.parametrize("text", ["", "{", '{"state": 1}', "[]"])
def test_a_latch_of_an_older_program_is_not_lost_in_the_upgrade(text: str) -> None:
    """Its file was one JSON object, there as long as the oven was latched."""
    old = {"state": "tripped", "oven": "bench-oven", "utc": "2026-11-20T10:00:00+00:00", "run": 3}
    old |= {"kind": "over_temperature", "reason": "261 °C", "reset": "C", "repeat_step": ""}
    home.latch_dir().joinpath("bench-oven.json").write_text(text or json.dumps(old), encoding="utf-8")
    said = latch.read("bench-oven")
    assert said is not None
    assert (said.state, said.reset) == (("unreadable", "A") if text else ("tripped", "C"))
    assert [each.oven for each in latch.latched_ovens()] == ["bench-oven"]
    with pytest.raises(RunRefused, match="bench-oven"):
        latch.refuse_latched("bench-oven")
    latch.reset("bench-oven", "sensor was out, put back", datetime.now(UTC))
    assert latch.read("bench-oven") is None
