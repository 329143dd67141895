"""A judge's oven under kilnctl's own board, I/O, station, interlocks and runner, in virtual time.

Only the physics is replaced. `learn` is the heat-up of `tune` through the same runner, its record put on an
even grid and fitted as `tune` does; `run` is one heat of a profile.
"""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np

from kilnctl.cli.oven.tune import evenly
from kilnctl.clock import VirtualClock
from kilnctl.config.oven import Oven, load_oven
from kilnctl.heat.heat_state import Heat as HeatToRun
from kilnctl.heat.job import Job, Outcome
from kilnctl.heat.runner import Runner
from kilnctl.heat.station import station_for
from kilnctl.heat.tune_run import tune_profile
from kilnctl.learning.fitting import fit
from kilnctl.learning.identification import refuse_another_oven
from kilnctl.link.snapshot import Command
from kilnctl.logbook.sample import COLUMNS, Sample
from kilnctl.model.nameplate import nameplate
from kilnctl.model.oven_model import OvenModel
from kilnctl.profile.segments import Profile
from kilnctl.rehearsal.virtual_io import VirtualIO
from simulator.boards.board import Board
from tests.bench.control.judges.oven import JudgeOven

OVENS = Path(__file__).parents[4] / "profiles/ovens"
# What an owner would say of the elements; of the other ovens nobody has said anything.
ELEMENTS = {"embedded": "embedded", "open-coil": "open", "muffle": "muffle", "fan-duct": "fan"}
# What happens in a tick, and the answer that a person gives in it to the step that waits; "" is none.
Event = Callable[[JudgeOven, Board, float], str]


class Tick(NamedTuple):
    """What one tick saw (`true_c`: a faultless sensor) and did."""

    at_s: float
    true_c: float
    setpoint_c: float | None
    segment: int
    heat_on: bool


@dataclass
class Heat:
    """A heat that is over: its ticks and how it ended. `note` is what was called changed."""

    ticks: list[Tick]
    outcome: Outcome
    tripped: str
    note: str
    evidence: Any = None


class Kept:
    """Stands where the recorder stands, and keeps the samples."""

    complete, ended = True, False

    def __init__(self) -> None:
        self.samples: list[Sample] = []
        self.sample = self.samples.append

    def event(self, kind: str, text: str, /, **data: Any) -> None:
        """Events are told by the outcome."""

    def finish(self, outcome: str, summary: dict[str, Any]) -> None:
        """Nothing is written."""


def file_for(judge: JudgeOven, contactor: bool = False, door: bool = True, pid: bool = False) -> Oven:
    """Return the oven file that an owner would write: the nearest build, the room within two kelvin."""
    build = judge.build
    oven = load_oven(OVENS / f"{build.file}.toml")
    room_c = JudgeOven(judge.family, judge.seed, "file").ambient_c
    changes: dict[str, Any] = {
        "name": "judge",
        "build": build.build,
        "elements": ELEMENTS.get(judge.family),
        "zone": (),
        "ambient_c": room_c,
        "power_w": build.power_w,
    }
    if build.build == "fan":
        changes |= {"limit_c": 330.0, "tune_ceiling_c": 300.0}
    if contactor:
        slow = {"kind": "contactor", "window_s": 30.0, "min_on_s": 3.0, "min_off_s": 3.0}
        changes["switching"] = oven.switching.model_copy(update=slow)
    if not door:
        changes["signal"] = oven.signal.model_copy(update={"door_open": None})
    if pid:
        changes["controller"] = "pid"
    return oven.model_copy(update=changes)


def learn(family: str, seed: int) -> OvenModel:
    """Learn a judge's oven by the way of `tune`. Raises RunRefused, NoFit or RuntimeError with the reason."""
    judge = JudgeOven(family, seed)
    oven, kept = file_for(judge), Kept()
    heat = _through(judge, oven, tune_profile(oven), None, kept)
    if heat.outcome.outcome != "complete":
        raise RuntimeError(f"not learned: {heat.outcome.cause}")
    columns = dict(zip(COLUMNS, np.array(kept.samples, dtype=float).T, strict=True))
    process_c, share, dt_s = evenly(columns, oven.tick_s)
    start = nameplate(oven)
    model = fit(start, process_c, share, oven.ambient_c, dt_s).model
    refuse_another_oven(oven, start, model)
    return model


def run(
    judge: JudgeOven, oven: Oven, profile: Profile, model: OvenModel | None, event: Event | None = None
) -> Heat:
    """Run a profile; without a model the oven is one that nobody has learned."""
    return _through(judge, oven, profile, model, Kept(), event)


def _through(
    judge: JudgeOven,
    oven: Oven,
    profile: Profile,
    model: OvenModel | None,
    kept: Kept,
    event: Event | None = None,
) -> Heat:
    clock = VirtualClock()
    board = Board(
        judge,  # type: ignore[arg-type] - it stands where the simulator's oven stands
        seed=judge.seed,
        contactor=oven.output.contactor is not None,
        noise_k=1e-9,
        resolution_k=oven.signal.process.step_k,
    )
    oven_io = VirtualIO(oven, board, clock)
    oven_io.connect()
    station = station_for(oven, profile, oven_io, model)
    ticks: list[Tick] = []

    def look(runner: Runner) -> None:
        ticks.append(
            Tick(
                runner.now.elapsed_s,
                judge.true_c,
                runner.now.cursor.setpoint_c,
                runner.now.cursor.segment,
                bool(board.heater),
            )
        )
        if event is not None:
            reply = event(judge, board, runner.now.elapsed_s)
            if reply:
                runner.command(Command("answer", args={"reply": reply}, who="judge"))

    runner = Runner(HeatToRun(station, Job(profile), kept, clock), on_tick=look)  # type: ignore[arg-type]
    outcome = runner.run()
    tripped = "" if runner.now.trip is None else f"{runner.now.trip.kind}: {runner.now.trip.reason}"
    evidence = getattr(station.controller, "evidence", None)
    return Heat(ticks, outcome, tripped, runner.now.oven_note, evidence)
