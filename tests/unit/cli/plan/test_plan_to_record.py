"""Six gouges from recipe to record, by the command line in virtual time; and chains that spoil parts.

The order of the trade (common practice): each gouge has its own quench under its name, the tempering oven
waits hot, the temper counts only with the parts inside.
"""

import json
from pathlib import Path

import pytest

from kilnctl.cli.main import run

SIX = """
name = "six-gouges"
part = "six carving gouges"
steel = "O1"
thinnest = "1/16 in"
goal_hrc = 60
surface = "coated"
parts = [
    { name = "gouge-1", section = "1/8 in" }, { name = "gouge-2", section = "3.5 mm" },
    { name = "gouge-3", section = "3.5 mm" }, { name = "gouge-4", section = "3 mm" },
    { name = "gouge-5", section = "3 mm" }, { name = "gouge-6", section = "3 mm" },
]

[[treatment]]
do = "harden"
oven = "hardening-furnace"
protection = "coating"
rate = "2000 F/h"
time = "20 min"
mass = "4 oz"
oil = { mass = "10 kg", start = "120 F", flash = "360 F" }

[[treatment]]
do = "temper"
oven = "tempering-oven"
load = "hot"
wait = "3h"
time = "20 min"
count = 1
"""
CHAINS = {
    "a stress relief after the quench": (
        '[[treatment]]\ndo = "harden"\n[[treatment]]\ndo = "stress relief"\nat = "640 C"\n'
        '[[treatment]]\ndo = "temper"\nat = "205 C"\n',
        "undoes the hardening",
    ),
    "an anneal after the temper": (
        '[[treatment]]\ndo = "harden"\n[[treatment]]\ndo = "temper"\nat = "205 C"\n'
        '[[treatment]]\ndo = "anneal"\ntype = "subcritical"\nat = "690 C"\n',
        "undoes the hardening",
    ),
}


@pytest.fixture
def six(own_home: Path) -> Path:
    path = own_home / "six.toml"
    path.write_text(SIX)
    return path


def test_six_gouges_are_planned_for_both_ovens(six: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["plan", str(six), "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    quenches = [row["label"] for row in told["rows"] if row["label"].startswith("quench")]
    assert quenches == [f"quench {n} of 6: gouge-{n}" for n in range(1, 7)]
    assert told["profile"]["section_mm"] == pytest.approx(3.5)
    assert "--oven tempering-oven" in told["rows"][-1]["say"]
    (temper,) = told["others"]
    assert temper["oven"] == "tempering-oven"
    assert [row["label"] for row in temper["rows"]][2:4] == ["load", "temper 1: soak"]
    assert any("oil after each part" in note and note.count(",") >= 5 for note in told["notes"])


@pytest.mark.slow
def test_six_gouges_are_rehearsed_and_the_record_has_each(
    six: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    record = tmp_path / "furnace.csv"
    words = ["dry-run", str(six), "--oven", "hardening-furnace", "--csv", str(record), "--json"]
    assert run(words) == 0
    assert record.stat().st_size > 100_000
    told = json.loads(capsys.readouterr().out)
    assert told["record"]["complete"]
    done = [s["label"] for s in told["segments"] if s["ended_s"] is not None]
    assert [label for label in done if label.startswith("quench")] == [
        f"quench {n} of 6: gouge-{n}" for n in range(1, 7)
    ]


@pytest.mark.slow
def test_the_temper_counts_only_with_the_gouges_inside(six: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["dry-run", str(six), "--oven", "tempering-oven", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    waits = next(row for row in told["truth"] if row["label"] == "load")
    assert waits["part_c"] is None
    dose_s = told["treatment"]["C = 20"]
    assert 0.8 * 1200 < dose_s < 1.6 * 1200


@pytest.mark.parametrize("chain", CHAINS)
def test_a_chain_that_spoils_the_part_is_refused(
    chain: str, own_home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text, says = CHAINS[chain]
    path = own_home / "r.toml"
    path.write_text(f'name = "r"\nsteel = "O1"\nsection = "4 mm"\noven = "hardening-furnace"\n{text}')
    for command in ("plan", "dry-run"):
        assert run([command, str(path)]) == 2
        assert says in capsys.readouterr().err


@pytest.mark.usefixtures("own_home")
def test_harden_and_temper_in_one_furnace_waits_for_the_furnace(
    own_home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = own_home / "r.toml"
    path.write_text(
        'name = "r"\nsteel = "1084"\nsection = "4 mm"\noven = "hardening-furnace"\n'
        '[[treatment]]\ndo = "harden"\n[[treatment]]\ndo = "temper"\nat = "205 C"\ncount = 1\n'
    )
    assert run(["plan", str(path), "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    labels = [row["label"] for row in told["rows"]]
    assert labels.index("oven falls, empty") < labels.index("put back")
    assert any("untempered" in warning for warning in told["warnings"])
