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
PAGE = Path("kilnctl/devices/docs/two-ovens.md").read_text(encoding="utf-8")
LEFT, RIGHT = re.findall(r"```toml\n(.*?)```", PAGE, re.DOTALL)


class TwoOvens(Shop):
    """Two oven files and one simulator, on one line or on two."""

    def __init__(self, folder: Path, lines: int) -> None:
        super().__init__(folder, SPEED)
        self.files = {}
        for i, (name, toml) in enumerate((("left-oven", LEFT), ("right-furnace", RIGHT))):
            port = folder / f"line-{min(i, lines - 1)}"
            text = re.sub(r'path = "[^"]*", baud = 9600', f'path = "{port}", baud = 115200', toml)
            self.files[name] = folder / f"{name}.toml"
            self.files[name].write_text("simulated = true\n" + text, encoding="utf-8")
            self.link = port

    def simulate(self, *more: str) -> None:
        left, right = map(str, self.files.values())
        words = ("simulate", left, "--also", right, "--speed", str(SPEED), *more)
        self.simulator = subprocess.Popen(self.command(*words), env=self.env, stdin=subprocess.DEVNULL)
        give_up_s = time.monotonic() + 30.0
        while not self.link.exists():
            assert time.monotonic() < give_up_s, "the simulator did not come up"
            time.sleep(0.05)

    def begin(self, name: str, *job: str) -> "subprocess.Popen[str]":
        words = ("run", "--oven", str(self.files[name]), "--time-scale", str(SPEED), "--json", *job)
        return subprocess.Popen(
            self.command(*words), env=self.env, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
        )


def end(process, timeout_s=180.0):
    stdout, stderr = process.communicate(timeout=timeout_s)
    assert stdout, stderr
    return process.returncode, json.loads(stdout.splitlines()[-1])


@pytest.fixture
def ovens(request, tmp_path):
    made = TwoOvens(tmp_path, getattr(request, "param", 1))
    yield made
    made.close()


@pytest.mark.parametrize("ovens", [1, 2], indirect=True, ids=["one line", "two ports"])
def test_two_heats_at_once_each_its_own(ovens):
    ovens.simulate()
    left = ovens.begin("left-oven", "--soak", "60C", "--for", "2min")
    right = ovens.begin("right-furnace", "--soak", "90C", "--for", "2min")
    time.sleep(8.0)
    status = json.loads(ovens.run("status", "--json").stdout)
    assert {"left-oven", "right-furnace"} <= set(json.dumps(status).replace('"', " ").split())
    for process, goal_c in ((left, 60.0), (right, 90.0)):
        code, summary = end(process)
        assert (code, summary["outcome"]) == (0, "complete"), summary
        assert summary["peak_c"] == pytest.approx(goal_c, abs=8.0)
        assert summary["heat_off_confirmed"]


def test_off_of_one_leaves_the_other_heating(ovens):
    ovens.simulate()
    left = ovens.begin("left-oven", "--soak", "60C", "--for", "2min")
    right = ovens.begin("right-furnace", "--soak", "40C", "--for", "2min")
    time.sleep(8.0)
    assert ovens.run("off", "--oven", "left-oven").returncode == 0
    assert end(left)[0] == 5
    code, summary = end(right)
    assert (code, summary["outcome"]) == (0, "complete"), summary


def test_a_board_that_dies_stops_its_oven_and_not_the_other(ovens):
    ovens.simulate("--fault", "replies-silent@300s")
    left = ovens.begin("left-oven", "--soak", "200C", "--for", "30min")
    right = ovens.begin("right-furnace", "--soak", "45C", "--for", "10min")
    code, summary = end(left)
    assert (code, summary["outcome"]) == (4, "tripped")
    assert "no whole answer" in summary["cause"]
    code, summary = end(right)
    assert (code, summary["outcome"]) == (0, "complete"), summary
    assert summary["alarms"] == []


@pytest.mark.parametrize("fault", ["outputs-crossed", "sensors-crossed"])
def test_what_is_crossed_is_noticed(ovens, fault):
    """The right furnace is only watched: the heat that is meant for the left arrives there, or seems to."""
    ovens.simulate("--fault", f"{fault}@0")
    right = ovens.begin("right-furnace", "--record-only")
    time.sleep(5.0)
    code, summary = end(ovens.begin("left-oven", "--soak", "200C", "--for", "30min"))
    assert (code, summary["outcome"]) == (4, "tripped"), summary
    assert summary["peak_c"] < 60.0
    print(fault, summary["cause"], summary["duration_s"])
    ovens.run("off")
    end(right)


@pytest.mark.parametrize("fault", ["outputs-crossed", "sensors-crossed"])
def test_crossed_while_both_are_heated_is_noticed_too(ovens, fault):
    ovens.simulate("--fault", f"{fault}@0")
    left = ovens.begin("left-oven", "--soak", "200C", "--for", "30min")
    right = ovens.begin("right-furnace", "--soak", "60C", "--for", "60min")
    codes = [end(process, 400.0) for process in (left, right)]
    print(fault, [(code, summary["cause"], summary["peak_c"]) for code, summary in codes])
    assert 4 in [code for code, _ in codes]
    assert all(summary["peak_c"] < 230.0 for _, summary in codes)
