"""The tutorial as a newcomer follows it: every command, in order, in an empty home, over real bytes."""

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

from kilnctl.guide.pages import page

PAGE = page("first-temper").text()
BLOCKS = re.findall(r"```(sh|toml)\n(.*?)```", PAGE, re.S)
# What the page itself says: the fault ends with a trip, and a busy computer leaves gaps.
ENDS = {"sensor-open": (4,), "verify": (0, 6)}
IN_THE_BACKGROUND = "kilnctl simulate"
SCREENS = "kilnctl watch"


@pytest.fixture
def shop(tmp_path: Path) -> dict[str, str]:
    home = tmp_path / "home"
    home.mkdir(mode=0o700)
    bin_folder = Path(sys.executable).parent
    return {**os.environ, "KILNCTL_HOME": str(home), "PATH": f"{bin_folder}:{os.environ['PATH']}"}


@pytest.mark.on_demand  # some minutes: the heat runs twenty times as fast, over real bytes
@pytest.mark.real_bytes
def test_the_tutorial_works_word_for_word(tmp_path: Path, shop: dict[str, str]) -> None:
    folder, simulator = tmp_path, None
    try:
        for kind, text in BLOCKS:
            if kind == "toml":
                (folder / "practice.toml").write_text(text, encoding="utf-8")
                continue
            for line in text.strip().splitlines():
                if line.startswith("cd "):
                    folder = folder / line[3:]
                elif line.startswith(IN_THE_BACKGROUND):
                    simulator = _simulate(line, folder, shop)
                elif not line.startswith(SCREENS):  # a screen needs a terminal; tests/dashboard has it
                    done = subprocess.run(
                        line, shell=True, cwd=folder, env=shop, capture_output=True, text=True,
                        stdin=subprocess.DEVNULL, timeout=600, check=False,
                    )  # fmt: skip
                    expected = next((codes for word, codes in ENDS.items() if word in line), (0,))
                    assert done.returncode in expected, f"{line}\n{done.stdout[-2000:]}\n{done.stderr}"
    finally:
        if simulator is not None:
            simulator.terminate()
            simulator.communicate(timeout=10)
    assert "<svg" in (folder / "practice.html").read_text(encoding="utf-8")
    assert (folder / "practice.csv").read_text(encoding="utf-8").startswith("elapsed_s,utc,state,segment")


def _simulate(line: str, folder: Path, shop: dict[str, str]) -> subprocess.Popen[str]:
    """Start the simulator and wait until its line is there: it says so."""
    process = subprocess.Popen(
        line.split(), cwd=folder, env=shop, text=True,
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.STDOUT,
    )  # fmt: skip
    assert process.stdout is not None
    for said in process.stdout:
        if "Ctrl-C ends it" in said:
            break
    return process
