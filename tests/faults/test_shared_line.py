"""Two oven files on one line, over real bytes: an off of both is read back by who holds the line for one.

The boards are plain scripts: nothing of `simulator/` is in them.
"""

import subprocess
from collections.abc import Iterator
from pathlib import Path

import leftovers
import pytest
from faults.live_heat import KILNCTL, until
from faults.planted.bench import OVEN, Bench
from foreign.wires import Unit

pytestmark = [pytest.mark.real_bytes, pytest.mark.slow]
ALARMS = ("CUT THE POWER", "NOT read back", "end that first")


class TwoBoards(Bench):
    """The board of a second oven at addresses 11 and 12; it may be taken away."""

    def __init__(self) -> None:
        super().__init__()
        self.second = Unit(coil=dict.fromkeys(range(4), 0), discrete={0: 0}, holding={0: 0, 50: 41})
        self.units |= {11: self.second, 12: Unit(input={0: 200})}

    def take_away(self) -> None:
        del self.units[11], self.units[12]


class Home:
    def __init__(self, folder: Path) -> None:
        self.folder, self.board, self.env = (
            folder,
            TwoBoards(),
            {"PATH": "/usr/bin:/bin", "KILNCTL_HOME": str(folder)},
        )
        (folder / "ovens").mkdir()
        text = OVEN.replace("PATH", self.board.path)
        other = text.replace("address = 1\n", "address = 11\n").replace("address = 2\n", "address = 12\n")
        for name, file in {"f1-oven": text, "f2-oven": other}.items():
            (folder / "ovens" / f"{name}.toml").write_text(file.replace("bench-oven", name), encoding="utf-8")

    def begin(self, *words: str) -> subprocess.Popen[str]:
        return subprocess.Popen(
            [KILNCTL, *words], env=self.env, text=True, stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE, stderr=subprocess.STDOUT, start_new_session=True,
        )  # fmt: skip

    def say(self, *words: str) -> tuple[int, str]:
        with self.begin(*words) as asked:
            assert asked.stdout is not None
            said = asked.stdout.read()
        return asked.returncode, said


@pytest.fixture
def home(tmp_path: Path) -> Iterator[Home]:
    """Return a home whose controller has the line, for its first oven; that is hot, so it keeps it."""
    made = Home(tmp_path)
    made.board.be_in(150.0)
    watch = made.begin("run", "--record-only", "--oven", "f1-oven")
    assert until(lambda: "f1-oven: " in made.say("status")[1] or watch.poll() is not None, 60.0)
    yield made
    leftovers.end_home(tmp_path)
    watch.communicate(timeout=60)
    made.board.close()


def test_an_off_of_all_reads_the_other_oven_on_a_line_that_the_controller_holds(home: Home) -> None:
    home.board.second.tables["coil"].update({0: 1, 1: 1})  # a hand at the board has switched it on
    code, said = home.say("off")
    assert not [alarm for alarm in ALARMS if alarm in said], said
    assert code == 0
    assert "read back: f1-oven, f2-oven" in said
    assert not any(home.board.second.tables["coil"].values())


def test_an_off_of_the_other_oven_alone_leaves_the_first(home: Home) -> None:
    code, said = home.say("off", "--oven", "f2-oven")
    assert (code, "read back: f2-oven" in said) == (0, True), said
    assert "f1-oven: " in home.say("status")[1]


def test_a_board_that_is_not_there_is_told_in_calm_words(home: Home) -> None:
    """It was "end that first: process N", which was kilnctl's own controller."""
    home.board.take_away()
    code, said = home.say("off")
    assert not [alarm for alarm in ALARMS if alarm in said], said
    assert code == 1  # nobody has read it back
    assert "off: f1-oven; f2-oven does not answer" in said
    assert "nothing here was heating it" in said


def test_a_board_that_answers_and_stays_on_is_not_called_silent(home: Home) -> None:
    """It was "does not answer, and nothing here was heating it", with no alarm, while its relay read on."""
    coils = home.board.second.tables["coil"]
    coils.update({0: 1, 1: 1})
    home.board.second.wrote = lambda *_: coils.update({0: 1, 1: 1})  # welded
    code, said = home.say("off")
    assert code == 1
    assert "does not answer" not in said, said
    assert "NOT read back as off: f2-oven" in said


def an_earlier_try(home: Home) -> dict[int, int]:
    """Put a file of the first oven beside it whose relay is the other way round; return the board's coils."""
    turned = "register = 0\non = 0\noff = 1\n[output.contactor]"
    text = (home.folder / "ovens" / "f1-oven.toml").read_text(encoding="utf-8")
    text = text.replace("f1-oven", "g-try").replace("register = 0\n[output.contactor]", turned)
    assert turned in text
    (home.folder / "ovens" / "f2-oven.toml").unlink()
    (home.folder / "ovens" / "g-try.toml").write_text(text, encoding="utf-8")
    home.board.holds_s = 0.0
    coils = home.board.relays.tables["coil"]
    coils.update({0: 1, 1: 1})
    return coils


WRONG_ONE = "g-try: nothing was sent by its file, which means by off what the file of f1-oven means by on"


def test_an_off_by_the_file_of_an_earlier_try_switches_no_heat_on(home: Home) -> None:
    """Both were "read back as off", exit code 0, and the relay was on: whichever off came last."""
    coils = an_earlier_try(home)
    code, said = home.say("off")
    assert (code, WRONG_ONE in said, "NOT read back as off: g-try" in said) == (1, True, True), said
    assert coils[0] == 0
    assert ("coil", 0, [1]) not in home.board.relays.written


def test_nor_where_the_port_is_free(tmp_path: Path) -> None:
    home = Home(tmp_path)
    try:
        coils = an_earlier_try(home)
        code, said = home.say("off")
        assert (code, WRONG_ONE in said) == (1, True), said  # neither has heated: nobody knows which is right
        assert not home.board.relays.written
        (tmp_path / "running").mkdir(mode=0o700)
        text = (tmp_path / "ovens" / "f1-oven.toml").read_text(encoding="utf-8")
        (tmp_path / "running" / "f1-oven.toml").write_text(text, encoding="utf-8")
        code, said = home.say("off")
        assert (code, WRONG_ONE in said, "off: f1-oven" in said) == (1, True, True), said
        assert coils[0] == 0
    finally:
        home.board.close()


def test_an_off_by_a_file_that_was_changed_clears_no_mark_of_another_port(tmp_path: Path) -> None:
    """A crash has left the mark of a heat; then the adapter came back elsewhere, and the file was changed."""
    home = Home(tmp_path)
    file, mark = (tmp_path / folder / "f1-oven.toml" for folder in ("ovens", "running"))
    try:
        mark.parent.mkdir(mode=0o700)
        text = file.read_text(encoding="utf-8")
        mark.write_text(text.replace(home.board.path, "/dev/null"), encoding="utf-8")
        code, said = home.say("off", "--oven", str(file))
        assert (code, "read back: f1-oven" in said) == (0, True), said
        assert "a heat of f1-oven at /dev/null was not read back as off" in said
        assert mark.exists()
        mark.write_text(text, encoding="utf-8")
        assert "was not read back" not in home.say("off", "--oven", str(file))[1]
        assert not mark.exists()
    finally:
        home.board.close()


def test_an_oven_whose_board_was_replaced_is_told_how_its_mark_goes(tmp_path: Path) -> None:
    """The old board answers nobody any more: each off failed, and each start was barred, for good."""
    home = Home(tmp_path)
    file, mark = (tmp_path / folder / "f1-oven.toml" for folder in ("ovens", "running"))
    try:
        mark.parent.mkdir(mode=0o700)
        text = file.read_text(encoding="utf-8")
        mark.write_text(text.replace("address = 1\n", "address = 5\n"), encoding="utf-8")
        code, said = home.say("off")
        assert (code, "NOT read back as off: f1-oven" in said) == (1, True), said
        assert f"where the old one is gone for good, take {mark} away" in said
        mark.unlink()
        code, said = home.say("off")
        assert (code, "take" in said) == (0, False), said
    finally:
        home.board.close()
