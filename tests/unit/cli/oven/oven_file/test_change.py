"""One answer of a finished oven file changed by asking; judged by tomllib and by the lines that stay."""

import builtins
import re
import tomllib
from pathlib import Path

import pytest

from kilnctl.cli.main import run
from kilnctl.config import home
from kilnctl.config.oven import load_oven
from kilnctl.guide.pages import page
from kilnctl.logbook.writer import Logbook
from kilnctl.marks import running_ovens
from kilnctl.permits import step_results
from kilnctl.permits.setup_steps import find_step

OWN = "# wired on a Sunday; K3 is the lamp"


@pytest.fixture
def file(own_home: Path) -> Path:
    """The guide's first example with comments of a maker's own."""
    text = re.findall(r"```toml\n(.*?)```", page("modbus-relay").text(), re.S)[0]
    text = re.sub(r"\n\[output.(lamp|horn)\]\n(?:.+\n)*", "", text)
    lamp = f'\n{OWN}\n[output.lamp]\ndevice = "relays"\ntable = "coil"\nregister = 3  # K3\n'
    path = own_home / "ovens" / "bench.toml"
    path.parent.mkdir(exist_ok=True)
    path.write_text(text.replace("\n[dead_man]", f"{lamp}\n[dead_man]", 1), encoding="utf-8")
    load_oven(path)
    return path


@pytest.fixture
def asked(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]):
    """Run `oven change` with answers; return exit code and everything that was said."""

    def change(*words: str, answers: tuple[str, ...] = ()) -> tuple[int, str]:
        left, prompts = list(answers), []

        def answer(prompt: str) -> str:
            prompts.append(prompt)
            if not left:
                raise EOFError
            return left.pop(0)

        monkeypatch.setattr(builtins, "input", answer)
        capsys.readouterr()
        code = run(["oven", "change", *words])
        said = capsys.readouterr()
        assert not left, f"never asked for: {left}\n{said}"
        return code, "\n".join([*prompts, said.out, said.err])

    return change


def lines_that_differ(before: str, after: str) -> list[tuple[str, str]]:
    return [(a, b) for a, b in zip(before.splitlines(), after.splitlines(), strict=True) if a != b]


def test_one_key_is_asked_and_one_line_changes(file: Path, asked) -> None:
    before = file.read_text(encoding="utf-8")
    code, said = asked("bench", "output.lamp.register", answers=("2",))
    after = file.read_text(encoding="utf-8")
    assert code == 0, said
    assert "[3]" in said
    assert lines_that_differ(before, after) == [("register = 3  # K3", "register = 2  # K3")]
    assert "# K3" in said.partition("register = 2")[2], "a comment that may be wrong now is shown"
    (old,) = file.parent.glob("bench.toml.*")
    assert old.read_text(encoding="utf-8") == before
    assert sorted(home.known("ovens"))[0] == "bench"
    assert not [name for name in home.known("ovens") if "before" in name]


def test_what_cannot_stand_there_is_asked_again_and_enter_keeps(file: Path, asked) -> None:
    before = file.read_text(encoding="utf-8")
    code, said = asked("bench", "limit", answers=("9000 C", "much", ""))
    assert code == 0
    assert "limit: " in said
    assert file.read_text(encoding="utf-8") == before
    assert not list(file.parent.glob("bench.toml.*")), "nothing was changed, nothing is kept"


def test_what_goes_with_it_is_asked_too_before_anything_is_written(file: Path, asked) -> None:
    before = file.read_text(encoding="utf-8")
    code, said = asked("bench", "limit", answers=("430 C", "signal.process.high", "450 C"))
    assert code == 0, said
    assert "must lie above the limit" in said
    assert len(lines_that_differ(before, file.read_text(encoding="utf-8"))) == 2


def test_a_stop_in_between_writes_nothing(file: Path, asked) -> None:
    before = file.read_text(encoding="utf-8")
    code, said = asked("bench", "limit", answers=("430 C", "q"))
    assert code == 2
    assert "nothing was written" in said
    assert file.read_text(encoding="utf-8") == before


def test_a_key_is_added_and_taken_out_again(file: Path, asked) -> None:
    before = tomllib.loads(file.read_text(encoding="utf-8"))
    assert asked("bench", "phone", answers=("112",))[0] == 0
    assert load_oven(file).phone == "112"
    assert asked("bench", "phone", answers=("-",))[0] == 0
    assert tomllib.loads(file.read_text(encoding="utf-8")) == before


def test_a_needed_key_is_not_taken_out(file: Path, asked) -> None:
    code, said = asked("bench", "isolator", answers=("-", ""))
    assert "no default" in said
    assert load_oven(file).isolator
    assert code == 0


def test_a_table_is_added_key_by_key_and_taken_out_as_comments(file: Path, asked) -> None:
    code, said = asked("bench", "output.horn", answers=("relays", "koil", "coil", "4"))
    assert "must be 'coil'" in said
    assert code == 0, said
    assert load_oven(file).output.horn.register_no == 4
    code, said = asked("bench", "output.lamp", answers=("-",))
    assert code == 0, said
    assert load_oven(file).output.lamp is None
    text = file.read_text(encoding="utf-8")
    assert OWN in text
    assert "# register = 3  # K3" in text
    assert load_oven(file).dead_man is not None


def test_a_place_inside_a_place_is_added_too(file: Path, asked) -> None:
    code, said = asked("bench", "output.heater.back", answers=("relays", "discrete", "5"))
    assert code == 0, said
    back = load_oven(file).output.heater.back
    assert back is not None
    assert back.where == "discrete 5"
    assert asked("bench", "output.heater.back.inverted", answers=("y",))[0] == 0
    assert load_oven(file).output.heater.back.inverted


def test_a_mistyped_key_is_told_the_nearest(file: Path, asked) -> None:
    code, said = asked("bench", "output.lamp.registr")
    assert code == 2
    assert "output.lamp.register" in said


def test_without_a_key_it_asks_which_until_enter(file: Path, asked) -> None:
    code, said = asked("bench", answers=("output.lamp.register", "40003", "isolator", "blue plug", ""))
    assert code == 0, said
    oven = load_oven(file)
    assert (oven.output.lamp.register_no, oven.isolator) == (2, "blue plug")


def test_a_register_says_how_it_counts(file: Path, asked) -> None:
    """The file knows no more how the board's list counts: 3 on the wire is a list's 4."""
    _, said = asked("bench", "output.lamp.register", answers=("2",))
    assert "wire 3, which a list that counts from 1 prints as 4" in said
    assert "understood: 2 on the wire, which a list that counts from 1 prints as 3" in said


def test_a_text_boards_line_is_a_key_too(own_home: Path, asked) -> None:
    text = re.findall(r"```toml\n(.*?)```", page("text-board").text(), re.S)[0]
    path = own_home / "ovens" / "own.toml"
    path.parent.mkdir(exist_ok=True)
    path.write_text(text, encoding="utf-8")
    data = tomllib.loads(text)
    (device,) = data["device"]
    name = next(iter(data["device"][device]["tell"]))
    key = f"device.{device}.tell.{name}.send"
    code, said = asked("own", key, answers=("SET {value}",))
    assert code == 0, said
    assert (
        tomllib.loads(path.read_text(encoding="utf-8"))["device"][device]["tell"][name]["send"]
        == "SET {value}"
    )
    code, said = asked("own", f"device.{device}.ask.1.reply", answers=("no value in it", "", "q"))
    assert "cannot be read" in said


def test_what_was_proved_of_the_old_wiring_is_named(file: Path, asked) -> None:
    """The rule is the fingerprint's; here it is said while somebody can still choose."""
    oven, text = load_oven(file), file.read_text(encoding="utf-8")
    with Logbook(home.logbook_path()) as book:
        for step in ("caution", "oven file", "bus check", "drop test", "earth and insulation"):
            step_results.keep(book, oven, text, find_step(step), True, 1_790_000_000.0)
    _, said = asked("bench", "output.heater.register", answers=("6",))
    told = said.partition("again")[2]
    assert all(step in told for step in ("oven file", "bus check", "drop test"))
    assert "earth and insulation" not in told
    assert "caution" not in told


def test_no_file_changes_under_a_heat(file: Path, asked) -> None:
    before = file.read_text(encoding="utf-8")
    running_ovens.mark(load_oven(file).name, before)
    code, said = asked("bench", "output.lamp.register")
    assert code == 3, said
    assert file.read_text(encoding="utf-8") == before


def test_a_bundled_oven_and_a_name_are_left_alone(file: Path, asked) -> None:
    assert asked("tempering-oven", "limit")[0] == 2
    code, said = asked("bench", "name")
    assert code == 2
    assert "name" in said


def test_a_file_with_a_mistake_can_be_mended(file: Path, asked) -> None:
    text = file.read_text(encoding="utf-8")
    file.write_text(text.replace("register = 3  # K3", "register = 70000  # K3"), encoding="utf-8")
    code, said = asked("bench", "output.lamp.register", answers=("3",))
    assert code == 0, said
    assert load_oven(file).output.lamp.register_no == 3


PANEL = """
name = "panel"
use = "tempering"
build = "leaky"
power = "1000 W"
limit = "200 C"
isolator = "red switch"
switching = { kind = "solid-state" }
port.p = { path = "/dev/ttyUSB0" }
device.panel = { port = "p", address = 1 }
[signal.process]
device = "panel"
table = "input"
register = 0
unit = "C"
low = "-20 C"
high = "400 C"
[output.heater]
kind = "set-point"
device = "panel"
table = "holding"
register = 0
unit = "C"
park = "0 C"
link_loss = "drops"
# MORE
[[arm]]
device = "panel"
table = "holding"
register = 1
write = 1  # RUN
"""


@pytest.mark.parametrize("holds", ["8 s", ""])
def test_a_back_at_the_place_of_an_arm_makes_that_the_dead_man_in_one_step(
    own_home: Path, asked, holds: str
) -> None:
    """Four changes in the right order were needed, each refused for what the next one would cure."""
    path = own_home / "ovens" / "panel.toml"
    path.parent.mkdir(exist_ok=True)
    path.write_text(PANEL.replace("# MORE", f'holds = "{holds}"' if holds else ""), encoding="utf-8")
    answers = ("holding", "1", "y") if holds else ("holding", "1", "y", "9 s")
    code, said = asked("panel", "output.heater.back", answers=answers)
    assert code == 0, said
    oven = load_oven(path)
    assert oven.started_by_feeding
    assert not oven.arm
    assert (oven.dead_man.write, oven.dead_man.drops_after_s) == (1, 8.0 if holds else 9.0)


TEXT_BOARD = """
name = "words"
use = "tempering"
build = "leaky"
power = "1000 W"
limit = "240 C"
isolator = "red switch"
switching = { kind = "solid-state" }
port.p = { path = "/dev/ttyUSB0" }
[device.box]
kind = "text"
port = "p"
ask = [{ send = "R", reply = "T={process} H={heater}" }]
tell = { heater = { send = "H {value}", reply = "OK" } }
[signal.process]
device = "box"
field = "process"
unit = "C"
low = "-20 C"
high = "400 C"
[output.heater]
device = "box"
field = "heater"
"""


@pytest.mark.parametrize("what", ["output.lamp", "output.horn", "signal.door_open"])
def test_a_lamp_may_be_at_one_more_board_which_is_asked_for(own_home: Path, asked, what: str) -> None:
    """A text board with both outputs taken: only `field` was asked for, and nothing could heat from there."""
    path = own_home / "ovens" / "words.toml"
    path.parent.mkdir(exist_ok=True)
    path.write_text(TEXT_BOARD, encoding="utf-8")
    table = "discrete" if what.startswith("signal") else "coil"
    answers = ("spare", "q2", "/dev/ttyUSB1", "19200", "", "4", table, "3")
    code, said = asked("words", what, answers=answers)
    assert code == 0, said
    oven = load_oven(path)
    place = getattr(getattr(oven, what.partition(".")[0]), what.partition(".")[2])
    assert (place.device, place.table, place.register_no) == ("spare", table, 3)
    assert (oven.device["spare"].address, oven.port["q2"].baud) == (4, 19200)


def test_a_board_with_lines_of_its_own_shares_its_line_with_none(own_home: Path, asked) -> None:
    path = own_home / "ovens" / "words.toml"
    path.parent.mkdir(exist_ok=True)
    path.write_text(TEXT_BOARD, encoding="utf-8")
    code, said = asked("words", "output.lamp", answers=("spare", "p"))
    assert code != 0
    assert "shares its line with none" in said
    assert path.read_text(encoding="utf-8") == TEXT_BOARD
