"""An option that is given and not used is an error: a measurement that is typed is kept or refused."""

from pathlib import Path

import pytest

from kilnctl.cli.main import run as kilnctl
from kilnctl.logbook.writer import Logbook


@pytest.fixture(autouse=True)
def written(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A logbook that knows one part and nothing else."""
    monkeypatch.setenv("KILNCTL_HOME", str(tmp_path))
    with Logbook(tmp_path / "logbook.sqlite") as book:
        book.add_entry("part", "gouge-7", {"part": "gouge-7", "steel": "O1"}, 1.8e9, None, None)
    return tmp_path / "logbook.sqlite"


def entries(path: Path) -> int:
    with Logbook(path) as book:
        return int(book.connection.execute("SELECT count(*) FROM entry").fetchone()[0])


# The nine calls that once ended with code 0 and kept nothing of what was typed.
OVEN, PART = ("care", "tempering-oven"), ("part", "gouge-7")
ONCE_SILENT = [
    (*OVEN, "--low", "219.5 C is 218.0 C", "--high", "300 C is 301 C", "--reference", "glass"),
    (*OVEN, "--loaded", "--at", "front left = 216 C"),
    (*OVEN, "--every", "2160 h"),
    (*OVEN, "--volts", "228"),
    (*OVEN, "--left", "830.2 C is 830.0 C"),
    (*OVEN, "--limit", "200", "--counter", "element hours"),
    (*PART, "--side", "left", "--length", "120 mm"),
    (*PART, "--block", "60.0 reads 60.9", "--bare-metal"),
    (*PART, "--clamp", "20 s", "--quench", "edge first"),
]
# The same halves of a measurement, in the words of today.
HALF_SAID = [
    ("care", "calibrate", "tempering-oven", "process", "--low", "219.5 C is 218.0 C", "--reference", "glass"),
    ("care", "calibrate", "tempering-oven", "process", "--low", "1 C is 2 C", "--high", "300 C is 301 C"),
    ("care", "survey", "tempering-oven", "--at", "front left = 216 C", "--loaded"),
    ("care", "remind", "tempering-oven", "calibrate"),
    ("care", "remind", "tempering-oven", "relay", "--counter", "relay closures"),
    ("care", "remind", "tempering-oven", "relay", "--every", "2160 h", "--limit", "200"),
    ("care", "remind", "tempering-oven", "relay", "--who", "Ada", "--every", "2160 h"),
    ("care", "count", "oil tank"),
    ("care", "count", "oil tank", "quenches", "--every", "2 h"),
    ("care", "done", "oil tank"),
    ("care", "due", "oil tank", "--volts", "228"),
    ("care", "fixed-point", "1", "tin", "--altitude-m", "300"),
    ("part", "bow", "gouge-7", "1.2 mm", "--length", "120 mm"),
    ("part", "bow", "gouge-7", "--side", "left"),
    ("part", "test", "gouge-7", "--block", "60.0 reads 60.9", "--bare-metal"),
    ("part", "test", "gouge-7", "--files", "55 skates", "--block", "60.0 reads 60.9"),
    ("part", "test", "gouge-7"),
    ("part", "describe", "gouge-7"),
    ("part", "note", "gouge-7"),
    ("part", "note", "gouge-7", "straightened", "--side", "left"),
    ("runs", "--due", "--steel", "O1"),
    ("runs", "--due", "--limit", "3"),
    ("verify", "--hash", "0000-0000-0000-0000"),
    ("export", "--all", "--format", "csv", "--out", "x.csv"),
    ("tune", "tempering-oven", "--changed", "--from-run", "1"),
    ("tune", "tempering-oven", "--changed", "--time-scale", "10"),
    ("tune", "tempering-oven", "--from-run", "1", "--time-scale", "10"),
    ("commission", "tempering-oven", "--list", "--step", "heater"),
    ("commission", "tempering-oven", "--list", "--time-scale", "10"),
    ("watch", "--web", "--plain"),
    ("watch", "--port", "8080"),
    ("watch", "--web", "--port", "0"),
    ("run", "gouge-o1-temper", "--record-only"),
    ("run", "--record-only", "--oven", "tempering-oven", "--soak", "218C", "--for", "2h"),
    ("run", "--record-only", "--oven", "tempering-oven", "--unattended"),
    ("run", "--record-only", "--oven", "tempering-oven", "--ready-at", "15:00"),
    ("run", "--record-only", "--oven", "tempering-oven", "--resume-within", "15min"),
    ("run", "--from", "1", "--oven", "tempering-oven"),
    ("run", "--from", "1", "--time-scale", "1"),
    ("run", "gouge-o1-temper", "--from", "1"),
    ("simulate", "tempering-oven", "--link", "line=here", "--link", "other=there"),
]


@pytest.mark.parametrize("words", [*ONCE_SILENT, *HALF_SAID], ids=" ".join)
def test_what_is_typed_and_not_used_is_refused_in_one_line(
    words: tuple[str, ...], written: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert kilnctl(words) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert said.err.startswith("kilnctl: ")
    assert said.err.count("\n") == 1
    assert entries(written) == 1


def test_a_word_too_many_is_named_and_what_to_do(capsys: pytest.CaptureFixture[str]) -> None:
    assert kilnctl(["figure", "temper", "O1", "75HRC"]) == 2
    (line,) = capsys.readouterr().err.splitlines()
    assert "nothing here takes '75HRC'; leave it out" in line
