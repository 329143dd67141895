"""Off at the port, with what is known of the wiring lost or spoiled: judged by the board's own log.

The board is the one of the histories: it shares no code with kilnctl.
"""

import os
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from histories.forking import shared
from histories.place import Place

pytestmark = pytest.mark.real_bytes


@pytest.fixture(scope="module")
def place() -> Iterator[Place]:
    made = Place(5, nursery=shared())
    yield made
    made.close()


def off(place: Place) -> bool:
    """Switch both relays on by hand, say off; return whether the board says so too."""
    for coil in (1, 0):
        place.board("A", "hand", coil=coil, on=True)
    assert place.closed("A")
    said = place.say("one", "off", "--oven", "A")
    assert said.code == 0, said.err
    return not place.closed("A")


def kept(place: Place) -> Path:
    return place.home("one") / "wiring" / "A.json"


def noise(path: Path) -> None:
    path.write_bytes(os.urandom(400))


def cut(path: Path) -> None:
    path.write_bytes(path.read_bytes()[:200])


def empty(path: Path) -> None:
    path.write_bytes(b"")


def linked(path: Path) -> None:
    there = path.with_suffix(".elsewhere")
    path.replace(there)
    path.symlink_to(there)


def of_another_coil(path: Path) -> None:
    path.write_bytes(path.read_bytes().replace(b'"register_no": 0', b'"register_no": 7'))


def gone(path: Path) -> None:
    path.unlink()


def a_folder(path: Path) -> None:
    path.unlink()
    path.mkdir()


@pytest.mark.parametrize("spoil", [noise, cut, empty, linked, of_another_coil, gone, a_folder])
def test_wiring_that_was_kept_and_spoiled_keeps_no_oven_on(
    place: Place, spoil: Callable[[Path], None]
) -> None:
    if kept(place).is_dir():
        kept(place).rmdir()
    assert off(place)
    assert kept(place).is_file()
    spoil(kept(place))
    assert off(place)


def test_an_oven_file_that_was_edited_since_is_read_anew(place: Place) -> None:
    """The heater moves to another coil: what was kept for the old text would leave the new one on."""
    assert off(place)
    text = place.oven_text("A")
    heater, lamp = 'table = "coil", register = 0', 'table = "coil", register = 3'
    swapped = text.replace(heater, "?").replace(lamp, heater).replace("?", lamp)
    place.oven_file("one", "A").write_text(swapped)
    place.board("A", "hand", coil=3, on=True)
    off(place)
    assert not place.board("A", "look")["lamp"]
    place.oven_file("one", "A").write_text(text)
    assert off(place)
