"""The data cable out and in again in the middle of a heat, as the maker sees it, over real bytes."""

import json
import subprocess
import time
from pathlib import Path

import pytest
from shop import Shop

pytestmark = [pytest.mark.real_bytes, pytest.mark.slow, pytest.mark.on_demand]
SPEED = 5
IDENTITY = '\n[[identity]]\ndevice = "board"\ntable = "holding"\nregister = 100\nexpect = 4242\n'


class Workshop(Shop):
    """A shop whose oven names its board, and a simulator that takes words."""

    def __init__(self, folder: Path) -> None:
        super().__init__(folder, SPEED)
        self.oven.write_text(self.oven.read_text(encoding="utf-8") + IDENTITY, encoding="utf-8")
        words = ("simulate", str(self.oven), "--speed", str(SPEED))
        self.simulator = self.talking = subprocess.Popen(
            self.command(*words), env=self.env, stdin=subprocess.PIPE, stdout=subprocess.PIPE
        )
        self.line()

    def line(self) -> str:
        assert self.talking.stdout is not None
        return self.talking.stdout.readline().decode()

    def say(self, words: str) -> str:
        """Let somebody at the oven do something; return what is said of it."""
        assert self.talking.stdin is not None
        self.talking.stdin.write(words.encode() + b"\n")
        self.talking.stdin.flush()
        return self.line()

    def words(self) -> tuple[str, ...]:
        return (
            *("run", "--oven", str(self.oven), "--time-scale", str(SPEED)),
            *("--soak", "60C", "--for", "2min", "--json"),
        )

    def close(self) -> None:
        super().close()
        self.talking.communicate()


@pytest.fixture
def shop(tmp_path):
    made = Workshop(tmp_path)
    yield made
    made.close()


def test_cable_out_and_in_again(shop, tmp_path):
    run = subprocess.Popen(
        shop.command(*shop.words()), env=shop.env, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    )
    while "heat 100 %" not in shop.say("look"):
        assert run.poll() is None, run.communicate()
        time.sleep(0.2)

    other = {**shop.env, "KILNCTL_HOME": str(tmp_path / "other-home")}
    second = subprocess.run(
        shop.command(*shop.words()), env=other, capture_output=True, text=True, timeout=120, check=False
    )
    assert second.returncode == 3
    assert "in use by process" in second.stderr

    shop.say("unplug")
    stdout, _ = run.communicate(timeout=60)
    summary = json.loads(stdout.splitlines()[-1])
    assert (run.returncode, summary["outcome"]) == (4, "tripped")
    assert "no valid reply" in summary["cause"]
    assert not summary["heat_off_confirmed"]  # nobody could ask, and it says so
    assert "heat 0 %" in shop.say("look")  # the board's own dead-man has dropped it

    assert shop.run(*shop.words()).returncode == 3  # the trip latches
    shop.say("plug")
    words = ("--oven", str(shop.oven), "--time-scale", str(SPEED), "--note", "the cable was out")
    reset = shop.run("reset", *words)
    assert reset.returncode == 0, reset.stderr
    assert "heat 0 %" in shop.say("look")  # nothing heats by itself again

    shop.say("fault wrong-device")
    refused = shop.run(*shop.words())
    assert refused.returncode == 3
    assert "another device answers" in refused.stderr

    shop.say("mend wrong-device")
    done = shop.run(*shop.words(), timeout_s=900.0)
    again = json.loads(done.stdout.splitlines()[-1])
    assert (done.returncode, again["outcome"]) == (0, "complete"), again
