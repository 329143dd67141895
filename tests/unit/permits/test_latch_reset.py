"""Which oven a reset reads: a file of the same name may belong to another machine."""

from datetime import UTC, datetime
from pathlib import Path

import pytest

from kilnctl.config import home
from kilnctl.errors import ConfigError
from kilnctl.logbook.records import RunHeader
from kilnctl.logbook.writer import Logbook
from kilnctl.marks import latch, running_ovens
from kilnctl.marks.oven_identity import identity_of
from kilnctl.permits.latch_reset import oven_named

pytestmark = pytest.mark.usefixtures("own_home")

BUNDLED = (home.bundled("ovens") / "tempering-oven.toml").read_text(encoding="utf-8")
PORT = "lines/tempering-oven"


def latched_by_a_run(port: str) -> None:
    with Logbook(home.logbook_path()) as book:
        run = book.start_run(RunHeader("tempering-oven", BUNDLED.replace(PORT, port), "", "p", 0.0))
    latch.Latch("tempering-oven", lambda: datetime.now(UTC), run).arm()


def port_of(name: str) -> str:
    return str(oven_named(name).model_dump())


def test_the_oven_that_was_run_goes_before_a_bundled_file_of_its_name() -> None:
    assert PORT in port_of("tempering-oven")
    latched_by_a_run("/dev/mine")
    assert "/dev/mine" in port_of("tempering-oven")


def test_the_owners_own_file_goes_first_for_it_may_have_been_mended(own_home: Path) -> None:
    latched_by_a_run("/dev/mine")
    (own_home / "ovens").mkdir()
    text = BUNDLED.replace(PORT, "/dev/mended")
    (own_home / "ovens" / "small.toml").write_text(text, encoding="utf-8")
    assert "/dev/mended" in port_of("tempering-oven")


def test_an_unknown_name_asks_for_the_file() -> None:
    with pytest.raises(ConfigError, match="give its file"):
        oven_named("nobody's oven")


def test_of_a_port_that_came_back_under_another_name_the_one_that_is_there_is_read(own_home: Path) -> None:
    """The mark of the heat, which goes first, names a port that nobody can open any more."""
    running_ovens.mark("tempering-oven", BUNDLED.replace(PORT, "/dev/ttyUSB77"))
    (own_home / "ovens").mkdir()
    file = own_home / "ovens" / "tempering-oven.toml"
    file.write_text(BUNDLED.replace(PORT, "/dev/null"), encoding="utf-8")
    identity = identity_of(running_ovens.marked()[0])
    latch.Latch("tempering-oven", lambda: datetime.now(UTC), 1, identity=identity).arm()
    assert "/dev/null" in port_of("tempering-oven")
