"""Logbooks of the tests' own: an empty one, and one with a history."""

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from heats import START_UTC, ruled_run

from kilnctl.care.hardness_tests import by_tester
from kilnctl.config import home
from kilnctl.errors import ConfigError
from kilnctl.logbook import entries
from kilnctl.logbook.writer import Logbook

DAY_S = 86_400.0


@pytest.fixture
def book() -> Iterator[Logbook]:
    """Return an empty logbook in memory."""
    with Logbook(None) as made:
        yield made


@pytest.fixture(scope="session")
def full_logbook(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A logbook with an oven's history and one real heat, all invented; written once."""
    path = tmp_path_factory.mktemp("written") / "logbook.sqlite"
    oven_file = home.find("tempering-oven", "ovens", ConfigError).read_text(encoding="utf-8")
    with Logbook(path) as made:
        known = (
            entries.PartEntry("gouge 7", "O1", "bar 12", 4.0, 4, "order 31 <b>&"),
            entries.Calibration(
                "tempering-oven",
                "process",
                0.99593,
                -0.607,
                ((219.5, 218.0), (340.0, 338.0)),
                -2.0,
                0.3,
                "ref 3",
            ),
            entries.Survey(
                "tempering-oven",
                218.0,
                (("a", 216.1), ("b", 219.4), ("c", 220.8), ("d", 219.0), ("e", 217.2)),
                -1.9,
                2.8,
            ),
        )
        numbers = [entries.add(made, entry, START_UTC - 20 * DAY_S) for entry in known]
        applied = (numbers[1],)
        run = ruled_run(
            made, 1.5, simulated=False, oven_file=oven_file, operator="J. Maker", commissioning=applied
        )
        entries.add(
            made, by_tester("gouge 7", [59.1, 59.4, 58.7], (60.0, 60.9), True, run), START_UTC + DAY_S
        )
        entries.add(made, entries.Warp("gouge 7", 0.4, "left", run=run), START_UTC + DAY_S)
    return path


@pytest.fixture
def full_book(full_logbook: Path, tmp_path: Path) -> Iterator[Logbook]:
    """Every test has a copy of its own."""
    shutil.copytree(full_logbook.parent, tmp_path / "home")
    with Logbook(tmp_path / "home" / "logbook.sqlite") as copied:
        yield copied
