"""Two ovens at once as their maker runs them: two runs of `kilnctl run`, one controller, real bytes.

The files are those of the page about two ovens. What is crossed, and a board that dies, must stop the oven
that it concerns and leave the other alone.
"""

import json
import re
import subprocess
import time
from pathlib import Path

import pytest
from shop import Shop

pytestmark = [pytest.mark.real_bytes, pytest.mark.slow, pytest.mark.on_demand]
SPEED = 20
PAGE = Path("kilnctl/guide/connect/two-ovens.md").read_text(encoding="utf-8")
LEFT, RIGHT = re.findall(r"```toml\n(.*?)```", PAGE, re.DOTALL)


class TwoOvens(Shop):
    """Two oven files and one simulator, on one line or on two."""

    def __init__(self, folder: Path, lines: int, speed: int = SPEED) -> None:
        super().__init__(folder, speed)
        self.files: dict[str, Path] = {}
        self.runs: list[subprocess.Popen[str]] = []
        for i, (name, toml) in enumerate((("left-oven", LEFT), ("right-furnace", RIGHT))):
            port = folder / f"line-{min(i, lines - 1)}"
            text = re.sub(r'path = "[^"]*", baud = 9600', f'path = "{port}", baud = 115200', toml)
            self.files[name] = folder / f"{name}.toml"
            self.files[name].write_text("simulated = true\n" + text, encoding="utf-8")
            self.link = port

    def simulate(self, *more: str) -> None:
        left, right = map(str, self.files.values())
        words = ("simulate", left, "--also", right, "--speed", str(self.speed), *more)
        self.simulator = self.talking = subprocess.Popen(
            self.command(*words), env=self.env, stdin=subprocess.PIPE, stdout=subprocess.PIPE
        )
        assert self.talking.stdout is not None
        assert b"simulated plant" in self.talking.stdout.readline()

    def say(self, words: str) -> str:
        """Let somebody at the ovens do something; return what is said of it."""
        assert self.talking.stdin is not None
        assert self.talking.stdout is not None
        self.talking.stdin.write(words.encode() + b"\n")
        self.talking.stdin.flush()
        return self.talking.stdout.readline().decode()

    def soak(self, name: str, at: str, time_: str) -> "subprocess.Popen[str]":
        """Begin a heat that ends with its soak: cooling would take hours."""
        profile = self.folder / f"{name}-profile.toml"
        profile.write_text(
            f'name = "soak"\noven = "{name}"\n'
            f'[[segment]]\nkind = "ramp"\nto = "{at}"\n'
            f'[[segment]]\nkind = "soak"\nat = "{at}"\ntime = "{time_}"\nband = "10 K"\n',
            encoding="utf-8",
        )
        return self.begin(name, str(profile))

    def begin(self, name: str, *job: str) -> "subprocess.Popen[str]":
        """Begin a run and wait until its first tick can be seen from outside."""
        words = ("run", "--oven", str(self.files[name]), "--time-scale", str(self.speed), "--json", *job)
        process = subprocess.Popen(
            self.command(*words), env=self.env, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
        )
        self.runs.append(process)
        give_up_s = time.monotonic() + 60.0
        while f"{name}:" not in self.run("status").stdout:
            assert process.poll() is None, process.communicate()
            assert time.monotonic() < give_up_s, f"{name} does not run"
        return process

    def close(self) -> None:
        super().close()
        self.talking.communicate()
        for process in self.runs:
            process.kill()
            process.communicate()


def end(process, timeout_s=900.0):
    stdout, stderr = process.communicate(timeout=timeout_s)
    assert stdout, stderr
    return process.returncode, json.loads(stdout.splitlines()[-1])


@pytest.fixture
def ovens(request, tmp_path):
    made = TwoOvens(tmp_path, getattr(request, "param", 1))
    yield made
    made.close()


@pytest.fixture
def slow_ovens(tmp_path):
    made = TwoOvens(tmp_path, 1, speed=5)
    yield made
    made.close()


@pytest.mark.parametrize("ovens", [1, 2], indirect=True, ids=["one line", "two ports"])
def test_two_heats_at_once_each_its_own(ovens):
    ovens.simulate()
    left = ovens.soak("left-oven", "60 C", "30min")
    right = ovens.soak("right-furnace", "90 C", "15min")
    status = ovens.run("status").stdout
    assert re.search("left-oven: (heating|soaking)", status), status
    assert re.search("right-furnace: (heating|soaking)", status), status
    for process, goal_c in ((left, 60.0), (right, 90.0)):
        code, summary = end(process)
        assert (code, summary["outcome"]) == (0, "complete"), summary
        assert summary["peak_c"] == pytest.approx(goal_c, abs=8.0)
        assert summary["heat_off_confirmed"]


def test_off_of_one_leaves_the_other_heating(ovens):
    ovens.simulate()
    left = ovens.soak("left-oven", "60 C", "2h")
    right = ovens.soak("right-furnace", "60 C", "10min")
    assert ovens.run("off", "--oven", "left-oven").returncode == 0
    assert end(left)[0] == 5
    code, summary = end(right)
    assert (code, summary["outcome"]) == (0, "complete"), summary


def test_a_board_that_dies_stops_its_oven_and_not_the_other(slow_ovens):
    """Slowly: the wait for a dead board is not scaled, the dead-man of the other one is."""
    ovens = slow_ovens
    ovens.simulate()
    left = ovens.soak("left-oven", "60 C", "2h")
    right = ovens.soak("right-furnace", "60 C", "5min")
    assert "has begun" in ovens.say("fault replies-silent left-oven")
    code, summary = end(left)
    assert (code, summary["outcome"]) == (4, "tripped")
    assert "no valid reply" in summary["cause"]
    code, summary = end(right)
    assert (code, summary["outcome"]) == (0, "complete"), summary
    assert summary["alarms"] == []


@pytest.mark.parametrize("fault", ["outputs-crossed", "sensors-crossed"])
def test_what_is_crossed_is_noticed(ovens, fault):
    """The right furnace is only watched: the heat that is meant for the left arrives there, or seems to."""
    ovens.simulate("--fault", f"{fault}@0")
    right = ovens.begin("right-furnace", "--record-only")
    code, summary = end(ovens.soak("left-oven", "200 C", "2h"))
    assert (code, summary["outcome"]) == (4, "tripped"), summary
    assert summary["peak_c"] < 60.0
    print(fault, summary["cause"], summary["duration_s"])
    ovens.run("off")
    end(right)


@pytest.mark.parametrize("fault", ["outputs-crossed", "sensors-crossed"])
def test_what_is_crossed_in_mid_run_is_noticed_too(ovens, fault):
    """Somebody swaps two plugs while both are heated."""
    ovens.simulate()
    left = ovens.soak("left-oven", "150 C", "2h")
    right = ovens.soak("right-furnace", "60 C", "2h")
    ovens.say(f"fault {fault}")
    ended = end(left), end(right)
    print(fault, [(code, summary["cause"], summary["peak_c"]) for code, summary in ended])
    assert 4 in [code for code, _ in ended]
    assert all(summary["peak_c"] < 200.0 for _, summary in ended)
