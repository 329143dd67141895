"""D9 and D10 on ovens whose files are not marked simulated: proofs and latches belong to what they are of.

The board answers no simulator's question, so to kilnctl it is a real one. The set-up results are written
beforehand by kilnctl's own function, in a process of its own, as if each step had been done with that file.
"""

import subprocess
import sys
import time
from collections.abc import Iterator

import pytest
from histories.place import ANSWERS, Place, Said, until

pytestmark = [pytest.mark.real_bytes, pytest.mark.slow, pytest.mark.on_demand]
DONE = """
import sys, time
from kilnctl.config import home
from kilnctl.config.oven import load_oven
from kilnctl.logbook.writer import Logbook
from kilnctl.permits.step_results import keep
from kilnctl.permits.setup_steps import STEPS
path = home.home() / "ovens" / "A.toml"
values = {"dead-man test": 3.0, "limit test": 150.0, "heater pulse": 1.0, "cold check": 0.5, "drop test": 3.0}
with Logbook(home.logbook_path()) as book:
    for step in [s for s in STEPS if s.name in sys.argv[1:] or not sys.argv[1:]]:
        tried = [values.get(step.name), None, 1.0, 0.5, 3.0, 150.0]
        value = next(v for v in tried if step.accepts(v))
        keep(book, load_oven(path), path.read_text(), step, True, time.time(), value=value)
"""
LOADED_S = 60.0


@pytest.fixture
def place() -> Iterator[Place]:
    made = Place(speed=1, simulated=("B",), drops_s=3)
    yield made
    made.close()


def set_up(place: Place, *only: str) -> None:
    subprocess.run([sys.executable, "-c", DONE, *only], env=place.env("one"), check=True)


def write(place: Place, *changes: tuple[str, str], simulated: bool = False) -> None:
    text = place.oven_text("A", simulated=simulated)
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    place.oven_file("one", "A").write_text(text, encoding="utf-8")


def heated(place: Place) -> Said:
    """Ask for a heat at a terminal, say yes to everything; return when it heats or has been refused."""
    words = ("run", "--soak", "60C", "--for", "1h", "--oven", "A", "--json")
    said = place.at_terminal("one", *words)
    until(lambda: place.hot("A") or said.ended_s is not None, LOADED_S)
    return said


def refused(place: Place, said: Said, word: str = "") -> None:
    assert said.code == 3, said.told[-800:]
    assert not place.came_on("A", 0.0)
    assert word in said.told, said.told[-800:]


def test_an_oven_whose_proofs_hold_heats_or_the_others_prove_nothing(place: Place) -> None:
    set_up(place)
    said = heated(place)
    assert said.ended_s is None, said.told[-800:]
    assert place.say("one", "off").code == 0


def test_d9_what_was_done_on_a_simulator_proves_nothing_of_a_live_oven(place: Place) -> None:
    write(place, simulated=True)
    set_up(place)
    write(place)
    set_up(place, "caution", "oven file")
    refused(place, heated(place), "dead-man test")


@pytest.mark.parametrize(
    "change",
    [
        ('drops_after = "3 s"', 'drops_after = "60 s"'),
        ('power = "1200 W"', 'power = "9000 W"'),
        (
            'heater = { device = "board", table = "coil", register = 0 }',
            'heater = { device = "board", table = "coil", register = 2 }',
        ),
    ],
)
def test_d9_a_changed_key_opens_the_steps_that_rest_on_it(place: Place, change: tuple[str, str]) -> None:
    set_up(place)
    more = (
        ('horn = { device = "board", table = "coil", register = 2 }\n', "")
        if "register = 2 }" in change[1]
        else ("", "")
    )
    write(place, more, change)
    set_up(place, "caution", "oven file")  # a person has looked at the new file
    refused(place, heated(place))


def test_d9_a_higher_limit_opens_the_limit_test(place: Place) -> None:
    set_up(place)
    listed = place.say("one", "commission", "A", "--list")
    assert not [line for line in listed.out.splitlines() if "open" in line and "limit test" in line], (
        listed.out
    )
    write(place, ('limit = "260 C"', 'limit = "390 C"'))
    listed = place.say("one", "commission", "A", "--list")
    assert [line for line in listed.out.splitlines() if "open" in line and "limit test" in line], listed.out


def test_d10_a_twin_file_takes_no_latch_away(place: Place) -> None:
    set_up(place)
    said = heated(place)
    assert said.ended_s is None, said.told[-800:]
    place.board("A", "sensor", open=True)
    assert until(lambda: said.ended_s is not None, 60.0)
    assert said.code == 4, said.told[-400:]
    place.board("A", "sensor", open=False)
    place.say("one", "off")
    twin = place.oven_text("B").replace('name = "B"', 'name = "A"')
    place.oven_file("one", "A").write_text(twin, encoding="utf-8")
    place.oven_file("one", "B").unlink()
    said = place.say("one", "reset", "--oven", "A", "--note", "a twin file says so")
    assert said.code != 0, said.out
    write(place)
    since_s = time.monotonic()
    again = heated(place)
    assert again.code == 3, again.told[-800:]
    assert "reset" in again.told
    assert not place.came_on("A", since_s)


def test_a_dead_man_that_acts_only_when_it_is_asked_fails_by_the_lamp(
    place: Place, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each look from the wire finds it dropped, for the look itself drops it. Only a person's lamp knows."""
    held_on: list[bool] = []

    def lamp() -> str:
        held_on.append(place.hot("A"))
        time.sleep(2.0 * place.drops_s / place.speed)
        held_on.append(place.hot("A"))
        place.board("A", "plug")
        return "60 s" if all(held_on) else f"{place.drops_s} s"

    monkeypatch.setitem(ANSWERS, "stay on after", lamp)
    set_up(place, "caution", "oven file", "bus check")
    place.board("A", "lazy")
    file = str(place.oven_file("one", "A"))
    said = place.at_terminal("one", "commission", file, "--step", "dead-man test")
    assert until(lambda: "pull the data cable" in said.told or said.ended_s is not None, 90.0), said.told
    assert until(lambda: place.hot("A"), 30.0), said.told
    place.board("A", "unplug")
    assert until(lambda: said.ended_s is not None, 90.0), said.told
    assert held_on == [True, True]
    assert "only when asked" in said.told, said.told
    listed = place.say("one", "commission", "A", "--list").out
    assert [line for line in listed.splitlines() if "dead-man test" in line and "done" not in line], listed
