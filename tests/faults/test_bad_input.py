"""Bad input by hand through the command line: one clear line a mistake, exit code 2 or 3, no heat.

The mistakes are the usual ones of people who edit files by hand; common practice, no single source.
"""

import re
from pathlib import Path

import pytest

from kilnctl.cli.main import run
from kilnctl.config import home

RECIPE = (home.bundled("recipes") / "gouge-o1-temper.toml").read_text(encoding="utf-8")
OVEN = (home.bundled("ovens") / "tempering-oven.toml").read_text(encoding="utf-8")
PROFILE = """
name = "by hand"

[[segment]]
kind = "ramp"
to = "200 C"
rate = "100 C/h"

[[segment]]
kind = "soak"
at = "200 C"
time = "2 h"
"""


@pytest.fixture(autouse=True)
def own_home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("KILNCTL_HOME", str(tmp_path / "home"))
    monkeypatch.chdir(tmp_path)
    return tmp_path


def refused(words: list[str], capsys: pytest.CaptureFixture[str]) -> tuple[int, str]:
    """Return exit code and what was said; nothing else, no traceback, and no controller was started."""
    code = run(words)
    said = capsys.readouterr()
    assert said.out == ""
    assert said.err.startswith("kilnctl: ")
    *mistakes, end = said.err.split("\n")
    assert end == ""
    assert all(0 < len(mistake) < 300 for mistake in mistakes)
    assert len(mistakes) == 1 or all(".toml" in mistake for mistake in mistakes), said.err
    assert not re.search(r"Traceback|discriminator|validation|pydantic|Errno", said.err)
    assert not (home.home() / "controller.socket").exists()
    assert not (home.home() / "fault.log").exists(), (home.home() / "fault.log").read_text()
    return code, said.err


MISTAKES = [
    ('to = "200 C"', 'too = "200 C"', 2, r"job\.toml:\d+: segment\[1\].*too: unknown key"),
    ('to = "200 C"', "to = 200", 2, r"200 needs a unit|needs a unit"),
    ('to = "200 C"', "to = nan", 2, r"segment\[1\]"),
    ('to = "200 C"', 'to = "nan C"', 2, r"segment\[1\]"),
    ('to = "200 C"', 'to = "2OO C"', 2, r"2OO C"),
    ('to = "200 C"', 'to = "300 C"', 3, r"limit"),
    ('time = "2 h"', 'time = "2"', 2, r"segment\[2\]"),
    ('time = "2 h"', 'time = "-2 h"', 2, r"segment\[2\]"),
    ('kind = "soak"', 'kind = "hold"', 2, r"segment\[2\]"),
    ('rate = "100 C/h"', 'rate = "100 C"', 2, r"segment\[1\]"),
    ('rate = "100 C/h"', 'rate = "0 C/h"', 2, r"segment\[1\]"),
]


@pytest.mark.parametrize(("right", "wrong", "code", "says"), MISTAKES)
@pytest.mark.parametrize("command", ["run", "dry-run"])
def test_a_profile_with_a_mistake(
    command: str,
    right: str,
    wrong: str,
    code: int,
    says: str,
    own_home: Path,
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert right in PROFILE
    (own_home / "job.toml").write_text(PROFILE.replace(right, wrong, 1), encoding="utf-8")
    came, line = refused([command, "job.toml", "--oven", "tempering-oven"], capsys)
    assert came == code, line
    assert re.search(says, line), line


@pytest.mark.parametrize(
    "text", ["", "\n\n", "# only a comment\n", "name = ", "\x00", "[[segment]]\n", "é" * 10]
)
def test_a_file_that_is_no_profile(text: str, own_home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (own_home / "job.toml").write_text(text, encoding="utf-8")
    code, line = refused(["run", "job.toml", "--oven", "tempering-oven"], capsys)
    assert code == 2
    assert "job.toml" in line


def test_bytes_that_are_no_text(own_home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (own_home / "job.toml").write_bytes(b"\xff\xfe\x00name")
    assert refused(["run", "job.toml", "--oven", "tempering-oven"], capsys)[0] == 2


RECIPE_MISTAKES = [
    (r'steel = "O1"', 'steel = "O7"', "O7"),
    (r'steel = "O1"', 'stele = "O1"', "stele"),
    (r'steel = "O1"', 'steel = ""', "steel is missing"),
    (r'section = "[^"]*"', "section = 8", "section"),
    (r'section = "[^"]*"', 'section = "8 C"', "section"),
]


@pytest.mark.parametrize(("right", "wrong", "says"), RECIPE_MISTAKES)
@pytest.mark.parametrize("command", ["plan", "run"])
def test_a_recipe_with_a_mistake(
    command: str, right: str, wrong: str, says: str, own_home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text, count = re.subn(right, wrong, RECIPE, count=1)
    assert count == 1
    (own_home / "job.toml").write_text(text, encoding="utf-8")
    code, line = refused([command, "job.toml", "--oven", "tempering-oven"], capsys)
    assert code == 2
    assert says in line


OVEN_MISTAKES = [
    ('limit = "260 C"\n', "", "limit: is missing"),
    ('limit = "260 C"', "limit = 260", "limit"),
    ('limit = "260 C"', "limit = inf", "limit"),
    ('limit = "260 C"', 'limit = "500 C"', "limit"),  # above what the sensor can see
    ("register = 0", "register = 70000", "register"),
    ('port = "bus"', 'port = "buss"', "buss"),
    ("baud = 115200", 'baud = "fast"', "baud"),
]


@pytest.mark.parametrize(("right", "wrong", "says"), OVEN_MISTAKES)
def test_an_oven_with_a_mistake(
    right: str, wrong: str, says: str, own_home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert right in OVEN
    (own_home / "oven.toml").write_text(OVEN.replace(right, wrong, 1), encoding="utf-8")
    code, line = refused(["run", "--soak", "100C", "--for", "1h", "--oven", "oven.toml"], capsys)
    assert code == 2
    assert says in line
    assert "oven.toml" in line


@pytest.mark.parametrize(
    ("words", "code", "says"),
    [
        ("run new-lining-first-firing --oven tempering-oven", 3, "hardening-furnace can"),  # too hot for it
        ("run --soak 300C --for 1h --oven tempering-oven", 3, "limit"),
        ("run --soak 200 --for 1h --oven tempering-oven", 2, "200 C"),
        ("run --soak 200C --for 1 --oven tempering-oven", 2, "2h 30min"),
        ("run --soak nanC --for 1h --oven tempering-oven", 2, "nanC"),
        ("run --soak 200C --oven tempering-oven", 2, "--for"),
        ("run --oven tempering-oven", 2, "what to run"),
        ("run nowhere.toml --oven tempering-oven", 2, "nowhere.toml"),
        ("run gouge-o1-tempr --oven tempering-oven", 2, "gouge-o1-temper"),
        ("run gouge-o1-temper --oven tempring-oven", 2, "tempering-oven"),
        ("plan gouge-o1-temper --oven tempring-oven", 2, "tempering-oven"),
        ("steel O7", 2, "O1"),
        ("verify 99", 2, "no logbook"),
        ("export 99 --format csv --out x.csv", 2, "no logbook"),
        ("part nobody", 2, "no logbook"),
        ("run --soak 100C --for 1h --oven tempering-oven --time-scale fast", 2, "time-scale"),
        ("run --soak 100C --for 1h --oven tempering-oven --time-scale nan", 2, "time-scale"),
        ("run --soak 100C --for 1h --oven tempering-oven --time-scale 0", 2, "time-scale"),
        ("run --soak 100C --for 1h --oven tempering-oven --time-scale -5", 2, "time-scale"),
        ("reset", 3, "no oven is latched"),
    ],
)
def test_words_that_cannot_be_meant(
    words: str, code: int, says: str, capsys: pytest.CaptureFixture[str]
) -> None:
    came, line = refused(words.split(), capsys)
    assert came == code, line
    assert says in line, line


def test_a_simulator_does_not_write_over_a_file(own_home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (own_home / "notes").write_text("mine", encoding="utf-8")
    oven = OVEN.replace("lines/tempering-oven", str(own_home / "notes"))
    (own_home / "oven.toml").write_text(oven, encoding="utf-8")
    code, line = refused(["simulate", "oven.toml"], capsys)
    assert code == 2
    assert "not a link" in line
    assert (own_home / "notes").read_text(encoding="utf-8") == "mine"
