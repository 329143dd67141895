"""A rehearsal with a false reading shows the dose by the readings, and that the part truly got another one.

The truth is the simulator's part. Wrong couple as in test_truth_told: NIST ITS-90, a K couple read as J. What
a dose is worth is compared through its temperature: 205 °C read and some 270 °C true for the same time.
"""

import json
import re
from pathlib import Path

import pytest
from unit.rehearsal.test_truth_told import PROFILE

from kilnctl.cli.main import run

Out = pytest.CaptureFixture[str]
UNTRUE = 7


@pytest.fixture
def job(own_home: Path) -> str:
    path = own_home / "short.toml"
    path.write_text(PROFILE)
    return str(path)


def test_a_sound_heat_counts_one_dose(job: str, capsys: Out) -> None:
    assert run(["dry-run", job]) == 0
    shown = capsys.readouterr().out
    assert "temper equivalent" in shown
    assert "by the readings" not in shown
    assert "ANOTHER TREATMENT" not in shown
    assert run(["dry-run", job, "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["true_treatment"]["tempered_like_c"] == pytest.approx(215.0, abs=12.0)


def test_a_false_reading_counts_two(job: str, capsys: Out) -> None:
    words = ["dry-run", job, "--fault", "sensor-k-as-j@0s"]
    assert run(words) == UNTRUE
    shown = capsys.readouterr().out
    equivalents = [line for line in shown.splitlines() if line.startswith("temper equivalent")]
    assert equivalents
    assert all(line.endswith("(by the readings)") for line in equivalents)
    (truly,) = [line for line in shown.splitlines() if line.startswith("THE PART GOT ANOTHER TREATMENT")]
    like_c = float(re.search(r"tempered as 5 min at (\d+) °C", truly)[1])  # type: ignore[index]
    assert like_c > 255.0  # J shows a K couple of 270 °C as 205
    assert "1000000" not in shown
    assert "NOT AT THE SENSOR" not in shown  # it was the reading that was false
    assert run([*words, "--json"]) == UNTRUE
    told = json.loads(capsys.readouterr().out)
    assert told["true_treatment"]["tempered_like_c"] == pytest.approx(like_c, abs=1.0)
    assert told["true_treatment"]["predicted_hrc"][1] < told["predicted_hrc"][1]


def test_a_heat_that_was_cut_says_it_too(job: str, capsys: Out) -> None:
    """The limit cuts the heat: what the part had by then is not what the readings count."""
    assert run(["dry-run", job, "--fault", "sensor-k-as-j@0s", "--limit", "245 C"]) != 0
    shown = capsys.readouterr().out
    assert "(by the readings)" in shown
    assert "THE PART GOT ANOTHER TREATMENT" in shown


def test_hot_minutes_that_were_not_read_are_told(own_home: Path, capsys: Out) -> None:
    """Type K read as J: 600 °C shown is about 760 °C (24.9 and 33.3 mV in the tables)."""
    path = own_home / "hot.toml"
    path.write_text(
        'name = "hot"\noven = "hardening-furnace"\nsteel = "O1"\nsection = "4 mm"\n'
        '[[segment]]\nkind = "ramp"\nto = "650 C"\npurpose = "stress relief"\n'
        '[[segment]]\nkind = "soak"\nat = "650 C"\ntime = "30 min"\nclock = "part"\n'
        'purpose = "stress relief"\nlabel = "soak"\n'
    )
    assert run(["dry-run", str(path), "--fault", "sensor-k-as-j@0s"]) == UNTRUE
    shown = capsys.readouterr().out
    assert re.search(r"ANOTHER TREATMENT: truly .* above 700 °C, 0 s as read", shown)
