"""Whole heats over real bytes for every way of connecting, and faults in the middle of one.

The oven files are those of the pages about connecting. A fault that passes must not end the heat, one that
stays must trip it; none may ever give a value that is not the oven's.
"""

import re
from dataclasses import dataclass, field
from pathlib import Path

import pytest

from kilnctl.cli.oven.simulate import start
from kilnctl.clock import RealClock
from kilnctl.config.oven import Oven
from kilnctl.devices.oven_io import open_oven_io
from kilnctl.errors import ConfigError
from kilnctl.heat.heat_state import Heat as HeatToRun
from kilnctl.heat.job import Job
from kilnctl.heat.runner import Runner
from kilnctl.heat.station import station_for
from kilnctl.logbook.readers import Reader
from kilnctl.logbook.recorder import Recorder
from kilnctl.logbook.records import RunHeader
from kilnctl.logbook.writer import Logbook
from kilnctl.profile.write import profile_toml
from kilnctl.tomlfile import loads
from kilnctl.treatment.planning import soak_job

pytestmark = pytest.mark.real_bytes
SPEED = 10.0
FILES = {
    page.stem: re.findall(r"```toml\n(.*?)```", page.read_text(encoding="utf-8"), re.DOTALL)
    for page in sorted(Path("kilnctl/guide/connect").glob("*.md"))
}


@dataclass
class Heat:
    """How a heat went: outcome, events, and for each tick the reading and what was true."""

    outcome: str = ""
    cause: str = ""
    heat_off: bool = False
    boots: int = 0
    seen: list = field(default_factory=list)
    events: list = field(default_factory=list)
    truth_at_end: object = None
    left_behind: float | None = None

    def worst_k(self):
        """Return how far a reading that was believed lay from what was true."""
        return max(abs(value_c - true_c) for value_c, true_c in self.seen if value_c is not None)


def heat(folder, page, number=0, fault=(), speed=SPEED, to_c=30.0, for_s=60.0):
    toml = FILES[page][number].replace('parity = "even"', 'parity = "none"')
    toml = re.sub(r'path = "[^"]*"', f'path = "{folder / "port"}"', toml).replace(
        "baud = 9600", "baud = 115200"
    )
    toml = "simulated = true\n" + toml.replace('banner_wait = "2 s"', 'banner_wait = "0.3 s"')
    oven = loads(toml, Oven, ConfigError, page)
    running, clock, went = start(oven, speed=speed, fault=fault), RealClock(speed), Heat()
    oven_io = open_oven_io(oven, clock, speed)
    oven_io.connect()
    oven_io.scan(0.0)
    job = Job(soak_job(to_c, for_s, oven))
    book = Logbook(folder / "book")
    run = book.start_run(
        RunHeader(
            oven.name, toml, profile_toml(job.profile), job.profile.name, started_utc=clock.utc().timestamp()
        )
    )

    def look(runner):
        went.seen.append((runner.now.scan.process.value, running.board.plant.sensor.junction_c))

    recorder = Recorder(book, run, clock)
    runner = Runner(
        HeatToRun(station_for(oven, job.profile, oven_io), job, recorder, clock, run, speed), look
    )
    outcome = runner.run()
    went.outcome, went.cause, went.heat_off = outcome.outcome, outcome.cause, outcome.heat_off
    went.boots, went.truth_at_end = running.board.boots, running.board.truth()
    went.left_behind = running.board.follower.goal_c if oven.output.heater.kind == "set-point" else None
    went.events = [(e.kind, e.text) for e in Reader(book.connection).events(run)]
    oven_io.close()
    running.close()
    return went


def all_well(went):
    assert (went.outcome, went.cause, went.heat_off) == ("complete", "", True)
    assert went.worst_k() < 3.0
    assert went.truth_at_end.heat_w == 0.0


def test_a_whole_heat_on_a_duty_register(tmp_path):
    all_well(heat(tmp_path, "modbus-other-outputs", 1, speed=20.0, to_c=23.0, for_s=10.0))


@pytest.mark.slow
@pytest.mark.on_demand
@pytest.mark.parametrize("page", [page for page in FILES if FILES[page]])
def test_a_whole_heat_every_way(tmp_path, page):
    all_well(heat(tmp_path, page))


@pytest.mark.slow
@pytest.mark.on_demand
def test_a_whole_heat_on_an_instrument_parks_it(tmp_path):
    went = heat(tmp_path, "set-point-instrument", to_c=60.0, for_s=300.0)
    all_well(went)
    assert max(value_c for value_c, _ in went.seen) < 70.0
    assert went.left_behind == 0.0


BOARDS = ["text-board", "line-board"]
PASSING = [
    "replies-late@60s:0.05~60s",
    "replies-split@60s:0.03~60s",
    "replies-damaged@60s:0.05~60s",
    "replies-lost@60s:0.1~60s",
    "replies-short@60s:0.1~60s",
    "replies-junk@60s:0.1~60s",
    "replies-silent@60s~1s",
]
STAYING = [
    "replies-late@60s:1~60s",
    "replies-damaged@60s~60s",
    "replies-silent@60s~60s",
    "replies-echoed@60s~60s",
    "foreign-frames@60s~60s",
]


@pytest.mark.slow
@pytest.mark.on_demand
@pytest.mark.parametrize("fault", PASSING)
@pytest.mark.parametrize("page", BOARDS)
def test_a_fault_that_passes_does_not_end_the_heat(tmp_path, page, fault):
    went = heat(tmp_path, page, fault=[fault])
    assert (went.outcome, went.heat_off) == ("complete", True), went.cause
    assert went.worst_k() < 3.0


@pytest.mark.slow
@pytest.mark.on_demand
@pytest.mark.parametrize("fault", STAYING)
@pytest.mark.parametrize("page", BOARDS)
def test_a_fault_that_stays_trips_and_gives_no_wrong_value(tmp_path, page, fault):
    went = heat(tmp_path, page, fault=[fault])
    assert went.outcome == "tripped"
    assert "no valid reply" in went.cause
    assert went.worst_k() < 3.0
    assert went.truth_at_end.heat_w == 0.0  # the board's dead-man, where off could not be sent


@pytest.mark.slow
@pytest.mark.on_demand
@pytest.mark.parametrize("page", BOARDS)
def test_a_board_that_restarts_in_mid_run_is_greeted_anew_and_recorded(tmp_path, page):
    went = heat(tmp_path, page, fault=["board-reset@60s"])
    assert (went.outcome, went.heat_off, went.boots) == ("complete", True, 2), went.cause
    assert [text for kind, text in went.events if kind == "alarm"] == ["a board has restarted"]


@pytest.mark.slow
@pytest.mark.on_demand
@pytest.mark.parametrize("page", BOARDS)
def test_a_board_that_restarts_again_and_again_stops_the_heat(tmp_path, page):
    went = heat(tmp_path, page, fault=[f"board-reset@{at}s" for at in (50, 60, 70)])
    assert went.outcome == "tripped"
    assert "restarted 3 times" in went.cause
