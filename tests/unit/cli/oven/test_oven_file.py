"""Oven files by asking and by checking, judged by the guide's own examples and by what a start refuses."""

import builtins
import re
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from kilnctl.cli.main import run
from kilnctl.cli.oven.oven_file.asking.questions import MORE
from kilnctl.config.abilities import heating, may_heat
from kilnctl.config.oven import Oven, load_oven
from kilnctl.errors import ConfigError
from kilnctl.guide.pages import page
from kilnctl.heat.job import Job
from kilnctl.permits.preflight import refusals
from kilnctl.tomlfile import loads
from kilnctl.treatment.planning import soak_job

pytestmark = pytest.mark.usefixtures("own_home")

# Number of the menu: page and example, in the words of the page itself.
BENCH = {
    1: ("modbus-relay", 0),
    2: ("modbus-other-outputs", 0),
    3: ("modbus-other-outputs", 1),
    4: ("timer-relay", 0),
    5: ("network", 0),
    6: ("set-point-instrument", 0),
    7: ("text-board", 0),
    8: ("text-board", 1),
    9: ("line-board", 0),
    10: ("bare-thermocouple", 0),
}


def example(number: int) -> str:
    topic, which = BENCH[number]
    return re.findall(r"```toml\n(.*?)```", page(topic).text(), re.S)[which]


def person(number: int, lacks: tuple[str, ...] = ()) -> Callable[[str], str]:
    """Answer every question from the device's table, here the example; `lacks` is answered with n."""
    table: Any = tomllib.loads(example(number))
    lines = iter([line for d in table["device"].values() for line in d.get("ask", ())])
    now: dict[str, str] = {}

    def there(dotted: str) -> Any:
        value = table
        for key in dotted.rstrip(".").split("."):
            value = value[0] if isinstance(value, list) else value
            value = value.get(key, "") if isinstance(value, dict) else ""
        return value

    def answer(prompt: str) -> str:
        if prompt.endswith(("anything else: ", "unasked.reply: ")):
            return ""
        if prompt == "kind: ":
            return str(number)
        path = re.match(r"[a-z_0-9.]+", prompt)
        assert path, prompt
        if prompt.endswith("[y/n] "):
            return "n" if path[0] in lacks or not there(path[0]) else "y"
        if path[0].endswith("ask.send"):
            now.clear()
            now.update(next(lines, {"send": ""}))
            return now["send"]
        if path[0].endswith("ask.reply"):
            return now["reply"].replace("\n", "\\n")
        value = there(path[0])
        if isinstance(value, dict):
            return ""  # "is there more?"
        if value == "" and path[0].startswith("signal.second"):
            return "-"  # what is offered is the first sensor's, and the sheet has none of it for this one
        return value if isinstance(value, str) else re.sub(r"[\[\]]", "", str(value)).replace("'", '"')

    return answer


@pytest.fixture
def bench(monkeypatch: pytest.MonkeyPatch) -> Callable[[Callable[[str], str]], None]:
    return lambda who: monkeypatch.setattr(builtins, "input", who)


@pytest.mark.parametrize("number", BENCH)
def test_a_file_by_asking_is_the_oven_that_the_table_describes(
    number: int, tmp_path: Path, bench: Any, capsys: pytest.CaptureFixture[str]
) -> None:
    bench(person(number))
    assert run(["oven", "new"]) == 0
    said = capsys.readouterr()
    assert said.err == ""
    wanted = loads(example(number), Oven, ConfigError, "example")
    (file,) = (tmp_path / "ovens").iterdir()
    assert load_oven(file) == wanted
    assert f"kilnctl commission {wanted.name}" in said.out
    keys = set(re.findall(r"^([a-z_]+) =", file.read_text(), re.M))
    assert keys - set(re.findall(r"^# ([a-z_]+):", file.read_text(), re.M)) == set()


def test_a_board_without_a_dead_man_is_written_and_told_what_it_can_do(
    bench: Any, capsys: pytest.CaptureFixture[str]
) -> None:
    bench(person(1, lacks=("dead_man",)))
    assert run(["oven", "new"]) == 0
    said = capsys.readouterr().out
    assert "watched and recorded, not heated: no dead-man" in said
    assert run(["oven", "check", "bench-oven"]) == 0
    assert "The ways are" in capsys.readouterr().out


def test_a_board_that_holds_the_heat_too_long_is_told_at_the_question_and_before_all_else(
    bench: Any, capsys: pytest.CaptureFixture[str]
) -> None:
    """15 s were swallowed, then "watched and heated" stood twelve lines above "no heat begins"."""
    known, at_once = person(1), ""

    def slow(prompt: str) -> str:
        nonlocal at_once
        if prompt.startswith("dead_man.drops_after"):
            return "15 s"
        if (
            prompt.startswith("dead_man.")
            and not at_once
            and "10 s at most" in (out := capsys.readouterr().out)
        ):
            at_once = out
        return known(prompt)

    bench(slow)
    assert run(["oven", "new"]) == 0
    assert "NOT heated" in at_once
    assert "timer-relay" in at_once
    capsys.readouterr()
    assert run(["oven", "check", "bench-oven"]) == 0
    said = capsys.readouterr().out
    assert "It can be watched and recorded, NOT heated: heat that goes on for 15 s by itself" in said
    assert said.count("10 s at most") == 1
    assert "watched and heated" not in said
    assert run(["oven", "list"]) == 0
    assert re.search("bench-oven.*watched only", capsys.readouterr().out)


def latched_at_the_heater(prompt: str, known: Callable[[str], str], asked: list[str]) -> str:
    """Answer for a board whose latch is cleared by off at the heater's own register."""
    asked.append(prompt)
    heater = tomllib.loads(example(1))["output"]["heater"]
    if prompt.startswith("arm:"):
        return "y" if "once, after that" not in prompt else "n"
    if path := re.match(r"arm\.([a-z_]+)", prompt):
        told = {"write": "0", **{key: str(one) for key, one in heater.items()}}
        return told.get(path[1], "-" if "[none]" in prompt else "")
    return known(prompt)


def test_a_latch_that_off_clears_needs_no_arm_and_asks_for_none_again(
    bench: Any, capsys: pytest.CaptureFixture[str], own_home: Path
) -> None:
    """The guide said arm, and the answer to it was "one of them is wrong", with no way out."""
    known, asked = person(1), list[str]()
    bench(lambda prompt: latched_at_the_heater(prompt, known, asked))
    assert run(["oven", "new"]) == 0
    said = capsys.readouterr().out
    assert "Off of output.heater writes this already" in said
    assert "one of them is wrong" not in said
    (file,) = (own_home / "ovens").iterdir()
    assert load_oven(file).arm == ()


def test_a_file_that_arms_by_off_says_what_to_leave_out() -> None:
    heater = tomllib.loads(example(1))["output"]["heater"]
    arm = "".join(f"{key} = {heater[key]!r}\n" for key in ("device", "table", "register"))
    with pytest.raises(ConfigError, match="leave out an arm that writes the same"):
        loads(f"{example(1)}\n[[arm]]\n{arm}write = 0\n", Oven, ConfigError, "x")


def test_every_key_that_may_be_odd_is_named_with_half_a_sentence(
    bench: Any, capsys: pytest.CaptureFixture[str]
) -> None:
    """ "Left are data_bits, gap", and nothing said that gap is the quiet line that the sheet asks for."""
    bench(person(1))
    assert run(["oven", "new"]) == 0
    assert re.search("^#   gap: .*(quiet|pause)", capsys.readouterr().out, re.M)


def test_a_minus_leaves_words_out_as_it_does_a_key(bench: Any, own_home: Path) -> None:
    known = person(7)
    bench(lambda prompt: known(prompt) or "-" if ".words." in prompt else known(prompt))
    assert run(["oven", "new"]) == 0
    (file,) = (own_home / "ovens").iterdir()
    assert load_oven(file) == loads(example(7), Oven, ConfigError, "example")


def test_with_a_timer_relay_it_is_the_timer_relay_that_drops_the_heat() -> None:
    said, where = heating(loads(example(4), Oven, ConfigError, "timer"))
    assert "never behind the heater's own output" in where
    assert "the timer relay drops the heat 5 s" in said
    assert "board" not in said


def test_what_no_file_can_stand_for_is_said_before_the_first_question_and_by_check(
    bench: Any, capsys: pytest.CaptureFixture[str]
) -> None:
    """A missing limit, second contactor or lamp came up an hour later, at the set-up."""
    said: list[str] = []
    known = person(1)

    def first(prompt: str) -> str:
        said.append(capsys.readouterr().out)
        return known(prompt)

    bench(first)
    assert run(["oven", "new"]) == 0
    assert run(["oven", "check", "bench-oven"]) == 0
    for told in (said[0], capsys.readouterr().out):
        before = told.partition("This oven will not heat until:")[2]
        assert all(words in before for words in ("independent", "second switching", "timer relay", "lamp"))


def test_limits_have_no_default_and_a_bare_number_is_asked_again(
    bench: Any, capsys: pytest.CaptureFixture[str]
) -> None:
    told, known = iter(["", "260", "260 C"]), person(1)
    bench(lambda prompt: next(told) if prompt.startswith("limit") else known(prompt))
    assert run(["oven", "new"]) == 0
    said = capsys.readouterr().out
    assert "no default" in said
    assert "260" in said


def test_answers_that_end_write_nothing(
    tmp_path: Path, bench: Any, capsys: pytest.CaptureFixture[str]
) -> None:
    def gone(prompt: str) -> str:
        raise EOFError

    bench(gone)
    assert run(["oven", "new"]) == 2
    assert "nothing was written" in capsys.readouterr().err
    assert not (tmp_path / "ovens").exists()


def test_what_cannot_be_kept_is_printed(
    tmp_path: Path, bench: Any, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "ovens").write_text("no folder")
    bench(person(2))
    assert run(["oven", "new"]) == 2
    said = capsys.readouterr()
    assert (
        loads(said.out[said.out.index("# Written from") :], Oven, ConfigError, "printed").name == "pulse-oven"
    )
    assert said.err.count("\n") == 1


@pytest.mark.parametrize("number", BENCH)
@pytest.mark.parametrize("without", [False, True])
def test_what_check_says_is_what_a_start_does(number: int, without: bool) -> None:
    data = example(number)
    oven = loads(data, Oven, ConfigError, "example")
    oven = oven.model_copy(update={"dead_man": None}) if without else oven
    job = Job(soak_job(60.0, 60.0, oven))
    refused = [why for why in refusals(oven, job, 1.0, "", 10**12) if "dead-man" in why]
    assert may_heat(oven) is not bool(refused)
    assert ("not heated" in heating(oven)[0]) is bool(refused)


def test_ovens_are_listed_shown_and_a_wrong_one_is_named(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "ovens").mkdir()
    (tmp_path / "ovens" / "half.toml").write_text('name = "half"\n')
    assert run(["oven", "list"]) == 0
    said = capsys.readouterr().out
    assert re.search(r"(?m)^half +wrong: half.toml", said)
    assert re.search(r"(?m)^tempering-oven +tempering, 1200 W, limit 260", said)
    assert run(["oven", "show", "half"]) == 0
    assert 'name = "half"' in capsys.readouterr().out
    assert run(["oven", "check", "half"]) == 2


def test_q_stops_and_a_name_that_is_taken_or_a_device_that_is_not_there_is_asked_again(
    tmp_path: Path, bench: Any, capsys: pytest.CaptureFixture[str]
) -> None:
    names, devices = iter(["tempering-oven", "a\x1b[2Jb", "Ofen für Äxte"]), iter(["relais"])
    known = person(1)

    def odd(prompt: str) -> str:
        if prompt.startswith("name"):
            return next(names)
        return next(devices, "relays") if prompt.startswith("output.heater.device") else known(prompt)

    bench(odd)
    assert run(["oven", "new"]) == 0
    said = capsys.readouterr().out
    assert "there is an oven tempering-oven already" in said
    assert "printable characters" in said
    assert "there is no relais; the file has relays and sensors" in said
    assert (tmp_path / "ovens" / "Ofen-für-Äxte.toml").exists()
    bench(lambda prompt: " Q" if prompt.startswith("limit") else known(prompt))
    assert run(["oven", "new"]) == 2
    assert "stopped; nothing was written" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("number", "key", "told", "said"),
    [
        (1, "output.contactor.register", "0", "output.heater and output.contactor share coil 0 of relays"),
        (1, "signal.process.high", "200 C", "must lie above the limit"),
        (6, "output.heater.park", "-", "output.heater"),
        (4, "dead_man.register", "0", "dead_man"),
    ],
)
def test_what_contradicts_an_earlier_answer_is_said_at_its_table_and_asked_again(
    number: int,
    key: str,
    told: str,
    said: str,
    tmp_path: Path,
    bench: Any,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """Before, it was found when all had been asked, and half an hour of answers was lost."""
    wrong, known = iter([told]), person(number)
    bench(lambda prompt: next(wrong, known(prompt)) if prompt.startswith(f"{key}:") else known(prompt))
    assert run(["oven", "new"]) == 0
    out = capsys.readouterr().out
    assert said in out
    assert out.count("again:") == 1
    (file,) = (tmp_path / "ovens").iterdir()
    assert load_oven(file) == loads(example(number), Oven, ConfigError, "example")


def test_what_is_switched_off_by_another_number_than_0_is_asked_for(tmp_path: Path, bench: Any) -> None:
    """A sheet with 256 for on and 512 for off: `off` was never asked for, and 0 stood for it in silence."""
    numbers = {"on": "256", "off": "512", "table": "holding"}
    known = person(1)

    def sheet(prompt: str) -> str:
        path = re.match(r"output\.[a-z]+\.(\w+)", prompt)
        return numbers.get(path[1], known(prompt)) if path else known(prompt)

    bench(sheet)
    assert run(["oven", "new"]) == 0
    (file,) = (tmp_path / "ovens").iterdir()
    heater = load_oven(file).output.heater
    assert (heater.on, heater.off) == (256, 512)


def test_a_text_board_is_asked_nothing_of_outputs_at_its_port(
    bench: Any, capsys: pytest.CaptureFixture[str]
) -> None:
    """Its port question listed heater, contactor, horn and lamp, and would have taken one for a port."""
    asked: list[str] = []
    known = person(8)
    bench(lambda prompt: asked.append(prompt) or known(prompt))
    assert run(["oven", "new"]) == 0
    assert "port: " not in asked
    assert MORE["port"] not in capsys.readouterr().out


def test_asked_again_a_table_keeps_what_was_answered(
    tmp_path: Path, bench: Any, capsys: pytest.CaptureFixture[str]
) -> None:
    """One wrong key threw a whole section of answers away: Enter now takes each of them again."""
    first, known = iter(["0"]), person(1)
    seen: list[str] = []

    def one_slip(prompt: str) -> str:
        if prompt.startswith("output.contactor."):
            seen.append(prompt)
            if prompt.endswith("register: "):
                return next(first)
            if "register [0]" in prompt:
                return "1"
            return "" if any("[0]" in one for one in seen) else known(prompt)
        return known(prompt)

    bench(one_slip)
    assert run(["oven", "new"]) == 0
    assert "Enter keeps what you have said" in capsys.readouterr().out
    (file,) = (tmp_path / "ovens").iterdir()
    assert load_oven(file) == loads(example(1), Oven, ConfigError, "example")


@pytest.mark.parametrize(("number", "worn"), [(1, True), (4, False), (5, True), (9, False), (2, True)])
def test_check_names_what_is_written_so_often_that_a_stored_register_wears_out(
    number: int, worn: bool, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A dead-man was a setting of 100 000 writings: worn out in 28 hours of heat, and nobody said so."""
    file = tmp_path / "bench.toml"
    file.write_text(example(number), encoding="utf-8")
    assert run(["oven", "check", str(file)]) == 0
    said = capsys.readouterr().out
    assert ("28 hours of heat" in said) is worn


def test_a_register_that_is_kept_is_read_each_second_or_another_is_named(
    bench: Any, own_home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """At the first try only its writing feeds it: another place is asked for; then reading does too."""
    known, tries = person(1), iter(["n", "y"])
    asked: list[str] = []

    def keeps(prompt: str) -> str:
        asked.append(prompt)
        if prompt.startswith("dead_man.stored:"):
            return "y" if "without power" in prompt else next(tries)
        return known(prompt)

    bench(keeps)
    assert run(["oven", "new"]) == 0
    said = capsys.readouterr().out
    assert "28 hours of heat" in said
    assert "spare coil" in said
    kept = [prompt for prompt in asked if prompt.startswith("dead_man.stored:")]
    assert len(kept) == 4
    assert "dead_man.write" not in " ".join(asked[: asked.index(kept[3])])
    assert not [prompt for prompt in asked if prompt.startswith(("dead_man.then", "dead_man.counts_to"))]
    (file,) = (own_home / "ovens").iterdir()
    dead_man = load_oven(file).dead_man
    assert dead_man is not None
    assert dead_man.stored


def test_a_timer_s_own_knob_is_the_cure_for_its_time(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """ "Set the board's own time shorter" was said of a timer relay with a knob."""
    file = tmp_path / "bench.toml"
    file.write_text(example(4).replace('drops_after = "5 s"', 'drops_after = "15 s"'), encoding="utf-8")
    assert run(["oven", "check", str(file)]) == 0
    said = capsys.readouterr().out
    assert "NOT heated" in said
    assert "knob" in said
    assert "board's own time" not in said


@pytest.mark.parametrize(
    ("switching", "words"),
    [
        ('{ kind = "contactor" }', "up to 6 times a minute"),
        ('{ kind = "contactor", window = "20 s" }', "up to 3 times a minute"),
        ('{ kind = "contactor", window = "2 min" }', "up to 30 times an hour"),
        ('{ kind = "solid-state" }', ""),
    ],
)
def test_check_says_how_often_a_contactor_closes_and_which_key_makes_it_fewer(
    switching: str, words: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A maker allowed three operations a minute, and nobody asked: one a window of 10 s is six."""
    file = tmp_path / "bench.toml"
    text = re.sub(r"switching = {[^}]*}", f"switching = {switching}", example(1))
    file.write_text(text, encoding="utf-8")
    assert run(["oven", "check", str(file)]) == 0
    said = capsys.readouterr().out
    assert ("The contactor closes" in said) is bool(words)
    assert words in said
    assert ("switching.window" in said) is bool(words)
