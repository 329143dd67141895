"""Whole heats with another oven behind the file, on the simulator's truth: called, and stopped in time."""

import json
from dataclasses import replace
from pathlib import Path

import pytest

from kilnctl.config.home import bundled
from kilnctl.config.oven import Oven, load_oven
from kilnctl.heat.job import Job
from kilnctl.heat.runner import Runner
from kilnctl.model.oven_model import OvenModel
from kilnctl.rehearsal.campaign import drawn, heat_of
from kilnctl.rehearsal.dry_run import Rehearsal, parse_faults, rehearse
from kilnctl.rehearsal.perturbed_ovens import spread
from kilnctl.treatment.planning import soak_job
from simulator.oven import ovens
from simulator.oven.plant import Plant
from tests.faults.scenarios import scenarios

SMALL = load_oven(bundled("ovens") / "tempering-oven.toml")
FURNACE = load_oven(bundled("ovens") / "hardening-furnace.toml")
LEARNED = Path(__file__).parents[1] / "faults" / "learned"


def model_of(oven: Oven) -> OvenModel:
    text = (LEARNED / f"{oven.name}.json").read_text(encoding="utf-8")
    known = json.loads(text)
    return OvenModel.from_dict(known.get("model", known))


def heat(oven: Oven, plant: Plant, goal_c: float, *faults: str, someone: str = "") -> Rehearsal:
    """Heat until it is over. `someone`: nobody is there, or one who is, or one who "obeys" the first call."""

    def look(runner: Runner) -> None:
        if someone == "obeys" and any(alarm.kind == "other_oven" for alarm in runner.now.alarms.history):
            runner.off("called")

    job = Job(soak_job(goal_c, 600.0, oven), unattended=not someone)
    faulted = parse_faults(faults)
    done = rehearse(oven, job, plant=plant, model=model_of(oven), faults=faulted, on_tick=look)
    done.run()
    return done


def called(done: Rehearsal) -> list[float]:
    return [alarm.at_s for alarm in done.runner.now.alarms.history if alarm.kind == "other_oven"]


def test_the_small_oven_behind_the_furnaces_file_is_stopped_long_before_it_is_too_hot() -> None:
    """The file's limit is 1100 degC; the oven that is really there is built for 260."""
    done = heat(FURNACE, ovens.tempering_oven(), 800.0)
    assert done.runner.now.trip is not None
    assert done.runner.now.trip.kind == "other_oven"
    assert done.board.truth().peak_place_c < 160.0
    assert called(done)


def test_somebody_who_is_there_is_called_as_soon() -> None:
    done = heat(FURNACE, ovens.tempering_oven(), 800.0, someone="obeys")
    assert done.runner.now.trip is None
    assert called(done)
    assert done.board.truth().peak_place_c < 160.0


def test_the_furnace_behind_the_small_ovens_file_is_stopped() -> None:
    done = heat(SMALL, ovens.hardening_furnace(), 218.0)
    assert done.runner.now.trip is not None
    assert done.runner.now.trip.kind == "other_oven"
    assert called(done)


@pytest.mark.parametrize("fault", ["supply-factor@0:0.9", "door-open@700~40"])
def test_the_oven_itself_is_neither(fault: str) -> None:
    done = heat(SMALL, ovens.tempering_oven(), 218.0, *([fault] if fault else []))
    assert done.runner.now.trip is None
    assert called(done) == []


def test_one_whose_heater_alone_explains_it_is_not_stopped_with_nobody_there() -> None:
    """At first a quick sensor and a strong heater together; its second look names the heater alone."""
    sound = replace(drawn(270725, scenarios()), faults=("module-silent@9000s",))  # long after its end
    done, _ = heat_of(sound)
    done.run()
    assert done.runner.now.trip is None
    assert called(done)


def test_an_oven_off_by_a_fifth_in_everything_is_not_stopped_while_somebody_is_there() -> None:
    """At first its sensor looks as quick as the small oven's behind the furnace's file."""
    plant, volts = spread(ovens.tempering_oven().data, 108)
    done = heat(SMALL, plant, 110.0, f"supply-factor@0:{volts}", someone="is there")
    assert done.runner.now.trip is None
