"""What a set-up step has proved holds for what it was proved on: a changed key of the oven file reopens it.

The table of which change must reopen which step is written here from what each step does at the oven
(common practice, no single source), not from the program's own table.
"""

import re
import time

import pytest

from kilnctl.cli.oven.commission import commission
from kilnctl.config import home
from kilnctl.config.oven import Oven, load_oven
from kilnctl.errors import ConfigError
from kilnctl.logbook.entries import CommissioningStep, add
from kilnctl.logbook.writer import Logbook
from kilnctl.permits import step_results
from kilnctl.permits.fingerprint import changed, fingerprint
from kilnctl.permits.setup_steps import STEPS
from kilnctl.tomlfile import loads

TEXT = (home.bundled("ovens") / "tempering-oven.toml").read_text(encoding="utf-8")
LIVE = TEXT.replace("simulated = true\n", "")
SOUND = {"dead-man test": 8.0, "cold check": 0.5, "heater pulse": 1.0, "limit test": 150.0}


@pytest.fixture
def path(tmp_path, monkeypatch):
    monkeypatch.setenv("KILNCTL_HOME", str(tmp_path))
    return tmp_path / "oven.toml"


def all_passed(path, text):
    path.write_text(text, encoding="utf-8")
    oven, now_s = load_oven(path), time.time()
    with Logbook(home.logbook_path()) as book:
        for step in STEPS:
            value = SOUND.get(step.name, 0.0 if step.unit else None)
            step_results.keep(book, oven, text, step, True, now_s, value=value)


def open_after(path, capsys, text):
    path.write_text(text, encoding="utf-8")
    commission(str(path), listing=True)
    said = capsys.readouterr().out
    return {m[1].strip(): m[2] for m in re.finditer(r"^open  (.{22}) (.*)$", said, re.MULTILINE)}


def test_nothing_is_open_where_nothing_was_changed(path, capsys):
    all_passed(path, LIVE)
    assert open_after(path, capsys, LIVE) == {}


def test_what_was_done_on_a_simulated_oven_proves_nothing_of_a_live_one(path, capsys):
    all_passed(path, TEXT)
    still = open_after(path, capsys, LIVE)
    spared = {"weld drill"}
    assert set(still) == {step.name for step in STEPS} - spared
    assert "simulated" in still["dead-man test"]


# A changed line of the file, and the steps at the oven that it takes the ground from.
RELAY = {"bus check", "dead-man test", "heater pulse", "limit test", "drop test", "learn", "door test",
         "sensor-out drill", "overshoot check", "power drill", "first temper"}  # fmt: skip
SENSOR = {"cold check", "known temperature", "heater pulse", "reference check", "learn", "sensor-out drill",
          "overshoot check", "first temper"}  # fmt: skip
POWER = {"caution", "heater pulse", "limit test", "earth and insulation", "learn", "overshoot check",
         "uniformity", "first temper"}  # fmt: skip
OUTPUTS = '[output.heater]\ndevice = "board"\ntable = "coil"\nregister = 0'
DEAD_MAN = '[dead_man]\ndevice = "board"\ntable = "holding"\nregister = 0'
CHANGES = {
    "heater on another coil": (OUTPUTS, OUTPUTS[:-1] + "5", RELAY, "output.heater.register"),
    "dead-man in another register": (
        DEAD_MAN, DEAD_MAN[:-1] + "7", {"bus check", "dead-man test", "power drill"}, "dead_man.register"),
    "dead-man drops later": (
        'drops_after = "10 s"', 'drops_after = "60 s"', {"bus check", "dead-man test", "power drill"},
        "dead_man.drops_after"),
    "another board": ("address = 1", "address = 9", (RELAY | SENSOR | {"horn and messages"}),
                      "device.board.address"),
    "another port": ('path = "lines/tempering-oven"', 'path = "/tmp/another"',
                     (RELAY | SENSOR | {"horn and messages"}), "port.bus.path"),
    "a stronger heater": ('power = "1200 W"', 'power = "9000 W"', POWER, "power"),
    "a higher limit": ('limit = "260 C"', 'limit = "390 C"',
                       {"caution", "reference check", "limit test", "first temper"}, "limit"),
    "another couple": ('couple = "K"', 'couple = "J"', SENSOR, "signal.process.couple"),
    "another telephone": ('phone = "your local emergency number"', 'phone = "112"', set(), ""),
}  # fmt: skip


@pytest.mark.parametrize("change", CHANGES)
def test_a_changed_key_reopens_exactly_what_rests_on_it_and_is_named(path, capsys, change):
    old, new, reopened, key = CHANGES[change]
    all_passed(path, LIVE)
    assert LIVE.count(old) == 1
    still = open_after(path, capsys, LIVE.replace(old, new))
    assert "has changed since" in still.pop("oven file")
    assert set(still) == reopened
    assert all(f"{key} has changed since" in why for why in still.values())


def test_a_contactor_that_is_fitted_later_reopens_what_was_proved_without_it(path, capsys):
    start, end = LIVE.index("[output.contactor]"), LIVE.index("[output.horn]")
    all_passed(path, LIVE[:start] + LIVE[end:])
    still = open_after(path, capsys, LIVE)
    assert {"drop test", "dead-man test"} <= set(still)
    assert "output.contactor is new in the file" in still["drop test"]
    assert "more" not in still["drop test"]


def test_a_device_that_is_new_or_gone_is_one_plain_sentence():
    """Of a new device it said "device.more.address has changed since: not given, now 7 (and 6 more)"."""
    oven = loads(LIVE, Oven, ConfigError, "oven")
    board = oven.device["board"]
    both = oven.model_copy(update={"device": {"board": board, "more": board}})
    weaker = both.model_copy(update={"power_w": 900.0})
    one, two = fingerprint("bus check", oven), fingerprint("bus check", both)
    assert changed("bus check", one, both) == "device.more is new in the file"
    assert changed("bus check", two, oven) == "device.more is no longer in the file"
    three = fingerprint("heater pulse", oven)
    assert changed("heater pulse", three, weaker) == "power has changed since: 1200.0, now 900.0"
    told = changed("bus check", one, both.model_copy(update={"identity": (), "port": {}}))
    assert re.fullmatch(r"device.more is new in the file; .*", told), told


def test_a_result_of_an_older_program_is_done_again(path, capsys):
    path.write_text(LIVE, encoding="utf-8")
    with Logbook(home.logbook_path()) as book:
        add(book, CommissioningStep("tempering-oven", "drop test", True), time.time())
    assert "without the values it rests on" in open_after(path, capsys, LIVE)["drop test"]


def test_a_drop_test_that_held_nothing_counts_no_longer() -> None:
    """It asked whether the terminals are dead while nothing was on: a y proved no contactor."""
    oven = loads(LIVE, Oven, ConfigError, "oven.toml")
    stored = fingerprint("drop test", oven)
    assert changed("drop test", stored, oven) == ""
    before = {name: value for name, value in stored.items() if name != "way"}
    assert "proves less; do it again, with each part held" in changed("drop test", before, oven)
    assert changed("cold check", fingerprint("cold check", oven), oven) == ""
