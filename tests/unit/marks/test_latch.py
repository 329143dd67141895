import contextlib
import json
import os
import shutil
import subprocess
from datetime import UTC, datetime

import pytest
from latches import NOW, STUCK, armed

from kilnctl.config import home
from kilnctl.errors import RecordError, RunRefused
from kilnctl.marks import durable_write, latch, latch_file, reset_conditions
from kilnctl.marks.latch import Latch
from kilnctl.marks.off_stamp import Outlet
from kilnctl.marks.oven_identity import OvenIdentity
from kilnctl.readings import ResetClass, Trip

pytestmark = pytest.mark.usefixtures("own_home")


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
        subprocess.run(["umount", "-l", tmp_path], check=True)


def test_a_trip_in_a_home_that_lets_nobody_open_a_file_any_more_is_written_all_the_same(monkeypatch):
    one = armed()
    with monkeypatch.context() as read_only:
        read_only.setattr(latch_file, "write", full)
        one.trip(STUCK)
    assert latch.read("small oven").state == "tripped"


def test_a_home_that_is_moved_in_mid_run_takes_its_trip_along(tmp_path, monkeypatch):
    one = armed()
    moved = home.home().rename(tmp_path.with_name(f"{tmp_path.name}-moved"))
    one.trip(STUCK)
    assert latch.read("small oven").state == "tripped"
    monkeypatch.setenv("KILNCTL_HOME", str(moved))
    assert latch.read("small oven").state == "tripped"


def test_a_trip_that_cannot_be_written_leaves_the_oven_latched(monkeypatch):
    one = armed()
    monkeypatch.setattr(latch_file, "write", full)
    monkeypatch.setattr(latch_file, "write_open", full)
    one.trip(STUCK)
    assert latch.read("small oven").state == "armed"


def test_without_a_latch_on_disk_there_is_no_heat(monkeypatch):
    monkeypatch.setattr(latch_file, "renew", full)
    with pytest.raises(RecordError, match="nothing was heated"):
        armed()


def place():
    return home.latch_dir() / "small oven.latch"


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
    reset_conditions.reset("small oven", "the folder was cleaned away", NOW)
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


def test_an_oven_s_name_is_no_path():
    one = Latch("../../etc/passwd", lambda: NOW)
    one.arm()
    assert [path.parent for path in home.latch_dir().iterdir()] == [home.latch_dir()]


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
    reset_conditions.reset("bench-oven", "sensor was out, put back", datetime.now(UTC))
    assert latch.read("bench-oven") is None
