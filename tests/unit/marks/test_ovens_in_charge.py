"""Which ovens an off cuts: each marked one, each known one that is plugged in, or the one named."""

import os
from pathlib import Path

import pytest

from kilnctl.config import home
from kilnctl.marks import hot_ovens, ovens_in_charge, running_ovens
from kilnctl.marks.ovens_in_charge import in_charge

SHIPPED = (home.bundled("ovens") / "tempering-oven.toml").read_text(encoding="utf-8")
PORT = next(line for line in SHIPPED.splitlines() if line.startswith("path = "))


def text(name: str, port: Path) -> str:
    named = SHIPPED.replace('name = "tempering-oven"', f'name = "{name}"')
    return named.replace(PORT, f'path = "{port}"')


@pytest.fixture
def shipped(own_home: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Return the folder that stands for the ovens that come with the program: one of them, "demo"."""
    folder = own_home / "outside" / "bundled"
    for made in (folder, own_home / "ovens"):
        made.mkdir(parents=True)
    monkeypatch.setattr(home, "bundled", lambda kind: folder)
    (folder / "demo.toml").write_text(text("demo", own_home / "outside" / "demo-port"), encoding="utf-8")
    return folder


def known(own_home: Path, name: str, plugged: bool) -> Path:
    """Write the file of an oven that is plugged in or not; return its port."""
    port = own_home / "outside" / f"port-of-{name}"
    (own_home / "ovens" / f"file-{name}.toml").write_text(text(name, port), encoding="utf-8")
    if plugged:
        port.touch()
    return port


@pytest.mark.usefixtures("shipped")
def test_off_cuts_what_is_plugged_in_and_what_is_marked(own_home: Path) -> None:
    for name, plugged in (("here", True), ("away", False), ("hot", False)):
        port = known(own_home, name, plugged)
    running_ovens.mark("hot", text("hot", port))
    cut = in_charge(None)
    assert {name: entry.marked for name, entry in cut.items()} == {"here": False, "hot": True}
    assert cut["hot"].at[0].port == str(port)


def test_the_shipped_ovens_are_cut_only_where_nothing_of_ones_own_is(own_home: Path, shipped: Path) -> None:
    (own_home / "outside" / "demo-port").touch()
    assert set(in_charge(None)) == {"demo"}
    known(own_home, "here", plugged=True)
    assert set(in_charge(None)) == {"here"}


@pytest.mark.usefixtures("shipped")
@pytest.mark.parametrize("said", ["here", "file-here"])
def test_a_named_oven_is_cut_alone_plugged_in_or_not(own_home: Path, said: str) -> None:
    known(own_home, "here", plugged=False)
    known(own_home, "other", plugged=True)
    assert set(in_charge(said)) == {"here"}
    assert set(in_charge(str(own_home / "ovens" / "file-other.toml"))) == {"other"}
    assert in_charge("nobody") == {}


@pytest.mark.usefixtures("shipped")
def test_a_torn_mark_is_cut_by_what_the_ovens_own_file_says(own_home: Path) -> None:
    port = known(own_home, "left", plugged=False)
    running_ovens.mark("left", text("left", port))
    (own_home / "running" / "left.toml").write_bytes(b'name = "le\xff')
    (found,) = in_charge(None).values()
    assert (found.marked, found.at[0].port) == (True, str(port))
    (own_home / "ovens" / "file-left.toml").unlink()
    assert in_charge(None)["left"].at == ()  # named all the same, so that off says that it cannot


@pytest.mark.usefixtures("shipped")
def test_a_file_in_which_a_comment_is_no_text_still_says_what_to_cut(own_home: Path) -> None:
    port = known(own_home, "here", plugged=True)
    path = own_home / "ovens" / "file-here.toml"
    path.write_bytes(b"# \xff\n" + path.read_bytes())
    assert in_charge(None)["here"].at[0].port == str(port)


@pytest.mark.usefixtures("shipped")
@pytest.mark.parametrize("spoiled", [b"\x00\xff\x17", b"name = ", b""])
def test_an_oven_whose_file_cannot_be_read_is_in_charge_so_that_off_says_it(
    own_home: Path, spoiled: bytes
) -> None:
    known(own_home, "here", plugged=True)
    (own_home / "ovens" / "B.toml").write_bytes(spoiled)
    assert set(in_charge(None)) == {"here", "B"}
    assert set(in_charge("here")) == {"here"}


@pytest.mark.usefixtures("shipped")
def test_an_oven_of_which_only_its_hot_sign_is_left_is_in_charge_so_that_off_says_it(own_home: Path) -> None:
    """History 50768: its file and all marks were gone when everybody who heated it was killed."""
    known(own_home, "here", plugged=True)
    hot_ovens.sign(hot_ovens.Hot("B", run=1))
    assert set(in_charge(None)) == {"here", "B"}
    running_ovens.mark("B", text("B", own_home / "outside" / "gone"))
    running_ovens.clear("B")  # its heat was read back as off: it only has not been seen cold
    assert set(in_charge(None)) == {"here"}


@pytest.mark.usefixtures("shipped")
def test_a_linked_file_counts_and_a_pipe_holds_nobody_up(own_home: Path) -> None:
    known(own_home, "here", plugged=True)
    (own_home / "ovens" / "file-here.toml").rename(own_home / "outside" / "elsewhere.toml")
    (own_home / "ovens" / "linked.toml").symlink_to(own_home / "outside" / "elsewhere.toml")
    os.mkfifo(own_home / "ovens" / "pipe.toml")
    assert set(in_charge(None)) == {"here", "pipe"}


@pytest.mark.usefixtures("shipped")
def test_whoever_may_be_hot_is_named_first(own_home: Path) -> None:
    port = known(own_home, "a", plugged=True)
    running_ovens.mark("z", text("z", port))
    assert ovens_in_charge.names() == ["z", "a", "demo"]
    assert ovens_in_charge.is_marked("z")
    assert not ovens_in_charge.is_marked("a")
