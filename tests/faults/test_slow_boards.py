"""`off` on a board that takes long for each word, over real bytes: what whoever waits for it is told.

The board is a plain script: nothing of `simulator/` is in it.
"""

import subprocess
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import leftovers
import pytest
from faults.live_heat import KILNCTL, until
from faults.planted.bench import OVEN, OddLine

pytestmark = [pytest.mark.real_bytes, pytest.mark.slow]
WORD_S = 0.13  # three looks of five words take longer than the two seconds of a usual board's alarm
ALARM, CALM = "CUT THE POWER at: red switch", "bench-oven answers, but slowly"


class Slow:
    """A home with one oven on a slow board."""

    def __init__(self, folder: Path) -> None:
        self.bench, self.home = OddLine(late_s=WORD_S), folder
        (folder / "ovens").mkdir()
        text = OVEN.replace("PATH", self.bench.path).replace("19200", '19200\ntimeout = "0.8 s"')
        (folder / "ovens" / "bench-oven.toml").write_text(text, encoding="utf-8")
        self.env = {"PATH": "/usr/bin:/bin", "HOME": str(folder), "KILNCTL_HOME": str(folder)}

    def says(self, *words: str) -> subprocess.Popen[str]:
        return subprocess.Popen(
            [KILNCTL, *words], env=self.env, text=True, stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE, stderr=subprocess.STDOUT, start_new_session=True,
        )  # fmt: skip

    def off(self, meanwhile: Callable[[], object] = lambda: None) -> tuple[int, str, float]:
        """Ask for off; return its exit code, its words, and when the alarm was raised."""
        began_s, said, alarm_s = time.monotonic(), [], 0.0
        with self.says("off") as asked:
            assert asked.stdout is not None
            for line in asked.stdout:
                said.append(line)
                if ALARM in line:
                    alarm_s = time.monotonic() - began_s
                elif "still asking" in line:
                    meanwhile()
        return asked.wait(60), "".join(said), alarm_s


@pytest.fixture
def slow(tmp_path: Path) -> Iterator[Slow]:
    made = Slow(tmp_path)
    yield made
    leftovers.end_home(tmp_path)
    made.bench.close()


def heats_by_hand(slow: Slow) -> None:
    slow.bench.holds_s = 0.0
    slow.bench.relays.tables["coil"].update({0: 1, 1: 1})


def test_a_good_off_at_the_port_is_called_slow_and_raises_no_alarm(slow: Slow) -> None:
    slow.bench._late_s = 0.17  # the first look ends after the first words and before the second ones
    heats_by_hand(slow)
    code, said, _ = slow.off()
    assert code == 0, said
    assert CALM in said
    assert ALARM not in said
    assert slow.bench.relays.tables["coil"][0] == 0
    first, *more, last = said.splitlines()
    assert "not read back as off yet" in first, "nothing was read at 0.7 s"
    assert [line for line in more if "not read back" in line] == [], "at 2 s it has read off once or twice"
    assert last.startswith("heat is off, read back")


def test_a_slow_board_that_falls_silent_in_mid_off_raises_it(slow: Slow) -> None:
    """Each word has 0.8 s, as the file says. One missed word may be a busy machine's doing, two are not."""
    heats_by_hand(slow)
    code, said, alarm_s = slow.off(lambda: setattr(slow.bench, "cable", False))
    assert code == 1, said
    assert ALARM in said
    assert alarm_s < 6.0


def test_a_slow_board_that_does_not_switch_off_raises_it(slow: Slow) -> None:
    heats_by_hand(slow)
    slow.bench.leaks = True
    code, said, alarm_s = slow.off()
    assert code == 1, said
    assert ALARM in said
    assert alarm_s < 6.0


@pytest.mark.parametrize("word_s", [WORD_S, 0.2])
def test_off_is_answered_by_the_controller_that_watches_a_slow_board(slow: Slow, word_s: float) -> None:
    """Once it was given up after 2.5 s, asked again, killed, and the port opened: 11 s at 120 ms a word.

    At 0.2 s a word it was read off within 6 s, and the alarm came before it was read off three times (8.2 s).
    """
    slow.bench._late_s = word_s
    watch = slow.says("run", "--record-only", "--oven", "bench-oven")
    try:
        assert until(lambda: any((slow.home / "running").glob("*.toml")) or watch.poll() is not None, 60.0)
        time.sleep(3.0)  # some ticks
        code, said, _ = slow.off()
        assert code == 0, said
        assert "(by the controller)" in said
        assert ALARM not in said
    finally:
        watch.kill()
        watch.communicate()
