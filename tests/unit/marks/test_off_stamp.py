"""The off stamp on real files: what started earlier is forbidden, what starts later is not."""

import errno
import json
import os
import pty
from collections.abc import Iterator
from pathlib import Path

import pytest

from kilnctl.config import home as homes
from kilnctl.marks import off_stamp
from kilnctl.marks.off_stamp import Outlet, StampWatch, leave, off_since, outlets, stamps_now

LEFT = Outlet("/dev/there-is-no-such-port", "1-coil-0")
RIGHT = Outlet("/dev/there-is-no-such-port", "2-coil-0")


@pytest.fixture
def house(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setattr(off_stamp, "MACHINE", tmp_path / "machine")
    home = tmp_path / "home"
    home.mkdir()
    return home


@pytest.fixture
def port() -> Iterator[str]:
    master, slave = pty.openpty()
    yield os.ttyname(slave)
    os.close(slave)
    os.close(master)


def test_without_any_off_nothing_is_forbidden(house: Path) -> None:
    assert off_since(stamps_now(house), house, "left", [LEFT]) is None


def test_an_off_forbids_what_started_earlier_and_not_what_starts_later(house: Path) -> None:
    early = stamps_now(house)
    assert leave(house, None, [LEFT], "ttyS1") == []
    said = off_since(early, house, "left", [LEFT])
    assert said is not None
    assert said.startswith("off was asked at ")
    assert said.endswith(" by ttyS1")
    assert off_since(stamps_now(house), house, "left", [LEFT]) is None


def test_a_second_off_in_the_same_moment_is_another_off(house: Path) -> None:
    for _ in range(50):
        between = stamps_now(house)
        assert leave(house, None, [], "x") == []
        assert off_since(between, house, "left", []) is not None


def test_a_watch_sees_the_off_in_the_next_tick(house: Path) -> None:
    watch = StampWatch(stamps_now(house), house, "left", [LEFT])
    assert watch() is None
    leave(house, "left", [LEFT], "x")
    assert watch() is not None


def test_an_off_of_one_oven_forbids_no_other_even_on_the_same_port(house: Path) -> None:
    early = stamps_now(house)
    leave(house, "right", [RIGHT], "x")
    assert off_since(early, house, "left", [LEFT]) is None
    assert off_since(early, house, "right", [RIGHT]) is not None


def text_oven(send: str, sensor_port: str = "line") -> tuple[Outlet, ...]:
    return outlets(f"""
[port.line]
path = "{LEFT.port}"
[port.other]
path = "/dev/no-such-port-either"
[device.box]
kind = "text"
port = "line"
ask = [{{ send = "t", reply = "{{process}}" }}]
tell = {{ heater = {{ send = "{send}", reply = "ok" }} }}
[device.sensor]
port = "{sensor_port}"
[output.heater]
device = "box"
field = "heater"
""")


def test_an_off_of_a_text_board_forbids_no_other_on_the_same_line(house: Path) -> None:
    """Each file calls its field "heater"; what is sent tells one board from the other."""
    one, other = text_oven("#1 heat {value}"), text_oven("#2 heat {value}")
    early = stamps_now(house)
    leave(house, "other", other, "x")
    assert off_since(early, house, "one", one) is None
    leave(house, "yet another name", one, "x")
    assert off_since(early, house, "one", one) is not None


def test_an_off_of_one_oven_forbids_nobody_who_shares_the_line_of_its_sensor(house: Path) -> None:
    other = (Outlet("/dev/no-such-port-either", "1-coil-0"), Outlet(LEFT.port))
    early = stamps_now(house)
    leave(house, "other", other, "x")
    assert off_since(early, house, "left", [LEFT]) is None
    leave(house, None, other, "x")
    assert off_since(early, house, "left", [LEFT]) is not None


def test_an_off_that_can_read_no_place_of_its_oven_forbids_the_port(house: Path, tmp_path: Path) -> None:
    early = stamps_now(house)
    leave(tmp_path / "another home", "left", [Outlet(LEFT.port)], "x")
    assert off_since(early, house, "left", [LEFT]) is not None


def test_who_asks_anew_begins_with_the_stamps_of_now_and_hears_which_off_came(house: Path) -> None:
    watch = StampWatch(stamps_now(house), house, "left", [LEFT])
    assert watch.anew() is None
    leave(house, "left", [LEFT], "anna")
    assert "anna" in (watch() or "")
    assert "anna" in (watch.anew() or "")
    assert watch() is None
    assert off_since(watch.token, house, "left", [LEFT]) is None
    leave(house, "left", [LEFT], "bert")
    assert "bert" in (watch() or "")


def test_an_off_under_another_home_is_obeyed_by_the_device(house: Path, tmp_path: Path, port: str) -> None:
    link = tmp_path / "by-another-name"
    link.symlink_to(port)
    early = stamps_now(house)
    leave(tmp_path / "other home", "another name", [Outlet(str(link), "1-coil-0")], "x")
    assert off_since(early, house, "left", [Outlet(port, "1-coil-0")]) is not None
    assert off_since(early, house, "right", [Outlet(port, "2-coil-0")]) is None
    leave(tmp_path / "other home", None, [Outlet(str(link), "1-coil-0")], "x")
    assert off_since(early, house, "right", [Outlet(port, "2-coil-0")]) is not None


def test_an_off_while_the_plug_is_out_counts_when_it_is_back(house: Path, tmp_path: Path, port: str) -> None:
    plug = tmp_path / "plug"
    early = stamps_now(house)
    leave(tmp_path / "other", None, [Outlet(str(plug))], "x")
    plug.symlink_to(port)
    assert off_since(early, house, "left", [Outlet(str(plug), "1-coil-0")]) is not None


@pytest.mark.parametrize("harm", ["removed", "torn", "emptied", "link", "folder", "replaced"])
def test_whatever_happens_to_a_stamp_counts_as_an_off(house: Path, tmp_path: Path, harm: str) -> None:
    leave(house, None, [], "x")
    early = stamps_now(house)
    stamp = house / "off" / "all"
    text = stamp.read_bytes()
    stamp.unlink() if harm != "torn" else stamp.write_bytes(os.urandom(100))
    if harm == "emptied":
        stamp.touch()
    elif harm == "link":
        stamp.symlink_to(tmp_path)
    elif harm == "folder":
        stamp.mkdir()
    elif harm == "replaced":
        os.sync()
        (house / "other").write_bytes(text)
        (house / "other").replace(stamp)
    assert off_since(early, house, "left", []) is not None


def test_the_whole_folder_gone_counts_as_an_off(house: Path) -> None:
    leave(house, None, [], "x")
    early = stamps_now(house)
    (house / "off" / "all").unlink()
    (house / "off").rmdir()
    assert off_since(early, house, "left", []) is not None


@pytest.mark.parametrize(
    "token", [None, {}, [], "x", {"boot": "another"}, {"boot": 1}, {"home/all": "1.2.3"}]
)
def test_what_is_no_token_of_this_start_of_the_machine_forbids(house: Path, token: object) -> None:
    assert off_since(token, house, "left", []) is not None


def test_a_token_of_values_that_are_none_forbids(house: Path) -> None:
    assert off_since({**stamps_now(house), "home/all": 3}, house, "left", []) is not None


def test_a_token_goes_through_json(house: Path) -> None:
    leave(house, "left", [LEFT], "x")
    assert off_since(json.loads(json.dumps(stamps_now(house))), house, "left", [LEFT]) is None


def no_room(*_: object) -> int:
    raise OSError(errno.ENOSPC, "No space left on device")


def test_on_a_full_disk_an_old_stamp_is_touched_and_a_new_one_is_made(
    house: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    leave(house, None, [LEFT], "x")
    monkeypatch.setattr(os, "pwrite", no_room)
    early = stamps_now(house)
    assert leave(house, None, [LEFT, RIGHT], "x") == []
    assert off_since(early, house, "left", [LEFT]) is not None
    assert leave(house, "right", [RIGHT], "x") == []
    assert off_since(early, house, "right", [RIGHT]) is not None


def test_what_cannot_be_left_is_said_and_the_other_place_still_counts(
    house: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (house / "off").write_text("not a folder")
    early = stamps_now(house)
    said = leave(house, None, [LEFT], "x")
    assert len(said) == 1
    assert "could not be left on disk" in said[0]
    assert off_since(early, house, "left", [LEFT]) is not None


def test_a_link_in_the_place_of_a_stamp_is_not_followed(house: Path, tmp_path: Path) -> None:
    victim = tmp_path / "victim"
    victim.write_text("precious")
    (house / "off").mkdir()
    (house / "off" / "all").symlink_to(victim)
    early = stamps_now(house)
    leave(house, None, [], "x")
    assert victim.read_text() == "precious"
    assert off_since(early, house, "left", []) is not None


def test_hostile_words_stay_one_short_line(house: Path) -> None:
    early = stamps_now(house)
    leave(house, None, [], "a\x1b[2J\n" + "é" * 5000)
    said = off_since(early, house, "left", [])
    assert said is not None
    assert said.isprintable()
    assert len(said) < 200
    (house / "off" / "all").write_bytes(b"off was asked at\x1b[2J\nnow")
    assert (off_since(early, house, "left", []) or "\n").isprintable()


def test_random_bytes_in_a_stamp_are_said_in_words(house: Path) -> None:
    early = stamps_now(house)
    (house / "off").mkdir()
    for _ in range(30):
        (house / "off" / "all").write_bytes(os.urandom(300))
        assert off_since(early, house, "left", []) == "off was asked (its stamp cannot be read)"


@pytest.mark.parametrize("path", sorted(homes.bundled("ovens").glob("*.toml")), ids=lambda path: path.stem)
def test_every_bundled_oven_names_its_outlets(path: Path) -> None:
    from kilnctl.config.oven import load_oven

    oven = load_oven(path)
    found = outlets(path.read_text(encoding="utf-8"))
    assert {outlet.port for outlet in found} == {port.path for port in oven.port.values()}
    assert found[0].port == oven.port[oven.device[oven.output.heater.device].port].path
    assert found[0].place


def test_a_copied_file_with_other_names_in_it_has_the_same_outlet() -> None:
    def written(device: str, port: str) -> str:
        return (
            f'[port.{port}]\npath = "/dev/x"\n[device.{device}]\nport = "{port}"\naddress = 3\n'
            f'[output.heater]\ndevice = "{device}"\ntable = "coil"\nregister = 1\n'
        )

    assert (
        outlets(written("board", "usb"))
        == outlets(written("relay", "line"))
        == (Outlet("/dev/x", "3-coil-1"),)
    )


@pytest.mark.parametrize("text", ["", "= =", "port = 1", "[port]\nx = 1", "[port.a]\npath = 3", "[" * 5000])
def test_a_damaged_oven_file_names_what_it_can_and_never_raises(text: str) -> None:
    assert isinstance(outlets(text), tuple)
