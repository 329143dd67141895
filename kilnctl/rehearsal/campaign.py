"""Faulted heats by the number: the whole controller in virtual time, seeded faults, judged on truth.

Everything about a heat follows from its seed and its scenario, so that any failure can be replayed.
"""

import json
import random
from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any

from kilnctl.config.oven import Oven
from kilnctl.errors import ConfigError, ProfileError
from kilnctl.heat.job import Job
from kilnctl.heat.runner import Runner
from kilnctl.model.oven_model import OvenModel
from kilnctl.profile.segments import Profile
from kilnctl.rehearsal.detection_table import EXPECTED, TOGETHER
from kilnctl.rehearsal.drawn_oven import plant_data
from kilnctl.rehearsal.dry_run import Rehearsal, parse_faults, plant_for, rehearse
from kilnctl.rehearsal.heat_watch import Watch
from kilnctl.rehearsal.judge import Verdict, judge
from kilnctl.rehearsal.perturbed_ovens import plant_near
from kilnctl.rehearsal.rehearsed_acts import Acts, draw_acts
from kilnctl.rehearsal.simulated_wiring import BUNDLED
from kilnctl.tomlfile import loads
from simulator.oven.plant import PlantData

# How many different ovens near the learned one are drawn from.
NEAR_OVENS = 1000
# Shares of heats with two faults, of faults that pass, of wiring mistakes that were there from the start, and
# of ovens with an independent limit.
PAIRS, LASTING, INSTALLED, LIMITED = 0.15, 0.15, 0.5, 0.5
# What is only told to a person at the oven: such a heat is left alone.
LEFT_ALONE = ("module-silent",)
# A heat whose spans are not known yet is a sound one; no recipe lasts for three days.
UNTIMED_S = 72 * 3600.0


@dataclass(frozen=True, slots=True)
class Scenario:
    """A heat on which faults are tried, as texts that any process can read.

    `model` is a learned model as JSON, empty for an oven that has not been learned; `start_c` where a heat
    before has left the oven; `spans` are the segments of a sound heat: from, to, in seconds.
    """

    oven: str
    profile: str
    model: str = ""
    start_c: float | None = None
    answer_after_s: float = 20.0
    spans: tuple[tuple[float, float], ...] = ()


@dataclass(frozen=True, slots=True)
class Task:
    """One heat: its seed, its scenario, which of the near ovens, what goes wrong in it, and who does what.

    `limited`: an independent limit with a sensor of its own is fitted, set to the machine's limit.
    """

    seed: int
    scenario: Scenario
    near: int = 0
    faults: tuple[str, ...] = ()
    acts: tuple[str, ...] = ()
    limited: bool = False


def timed(scenario: Scenario) -> Scenario:
    """Return a scenario with the spans of its segments, from a heat in which nothing goes wrong."""
    outcome = heat_of(Task(0, scenario))[0].run()
    done = [s for s in outcome.summary["segments"] if s["ended_s"] is not None]
    return replace(scenario, spans=tuple((s["started_s"], s["ended_s"]) for s in done))


def tasks(scenarios: Sequence[Scenario], seeds: Iterable[int], faulted: bool = True) -> list[Task]:
    """Return one task a seed, drawn by it; every kind of fault comes in its turn."""
    return [drawn(seed, scenarios, faulted) for seed in seeds]


def drawn(seed: int, scenarios: Sequence[Scenario], faulted: bool = True) -> Task:
    """Return the heat of a seed: scenario, oven, one fault or two at random moments, limit and acts."""
    dice = random.Random(f"heat {seed}")
    scenario, near = dice.choice(scenarios), dice.randrange(NEAR_OVENS)
    limited, acts = dice.random() < LIMITED, draw_acts(scenario.spans, dice)
    if not faulted:
        return Task(seed, scenario, near, (), acts, limited)
    keys = [*sorted(EXPECTED), *TOGETHER]
    key = keys[seed % len(keys)]
    found = [_drawn_fault(one, scenario, dice) for one in TOGETHER.get(key, (key,))]
    if len(found) == 1 and dice.random() < PAIRS:
        found.append(_drawn_fault(dice.choice(sorted(EXPECTED)), scenario, dice))
    return Task(seed, scenario, near, tuple(found), acts, limited)


def _drawn_fault(key: str, scenario: Scenario, dice: random.Random) -> str:
    key, _, last = key.partition("@")
    name, _, value = key.partition(":")
    at_s = dice.uniform(*(scenario.spans[-1] if last else dice.choice(scenario.spans)))
    if EXPECTED[key].installed and dice.random() < INSTALLED:
        at_s = 0.0
    lasting = f"~{dice.uniform(60.0, 900.0):.0f}s" if dice.random() < LASTING else ""
    return f"{name}@{at_s:.0f}s{':' + value if value else ''}{lasting}"


def run_one(task: Task) -> Verdict:
    """Run one heat to its end and judge it."""
    rehearsal, watch = heat_of(task)
    return judge(task.seed, rehearsal, rehearsal.run(), watch, task.acts)


def heat_of(task: Task, also: Callable[[Runner], object] | None = None) -> tuple[Rehearsal, Watch]:
    """Return the heat of a task, ready to run, and the watch that follows it; `also` sees every tick too."""
    scenario = task.scenario
    oven, profile, model = _read(scenario.oven, scenario.profile, scenario.model)
    plant, volts = plant_near(_data(oven, model), task.near, oven.ambient_c, scenario.start_c)
    faults = tuple(sorted(parse_faults(task.faults), key=lambda fault: fault.at_s))
    watch, acts = Watch(faults, longest_s=_longest_s(scenario)), Acts(task.acts)

    def both(runner: Runner) -> None:
        watch(runner)
        acts(runner)
        if also is not None:
            also(runner)

    rehearsal = watch.rehearsal = rehearse(
        oven,
        Job(profile, unattended=any(fault.name in LEFT_ALONE for fault in faults)),
        faults=faults,
        seed=task.seed,
        plant=plant,
        model=model,
        on_tick=both if also is not None or task.acts else watch,
        limit_c=oven.limit_c if task.limited else None,
        answer_after_s=scenario.answer_after_s,
        part_c=scenario.start_c,
    )
    rehearsal.board.flaws.volts = volts
    rehearsal.board.flawed()
    if any(fault.at_s == 0.0 for fault in faults):
        rehearsal.board.step(1.0)  # wrong before the first look, not a step of the reading
    return rehearsal, watch


def _longest_s(scenario: Scenario) -> float:
    """Return when a heat is given up: long after a sound one is over."""
    return 3.0 * scenario.spans[-1][1] + 1800.0 if scenario.spans else UNTIMED_S


@lru_cache(maxsize=32)
def _read(oven: str, profile: str, model: str) -> tuple[Oven, Profile, OvenModel | None]:
    return (
        loads(oven, Oven, ConfigError, "oven"),
        loads(profile, Profile, ProfileError, "profile"),
        OvenModel.from_dict(json.loads(model)) if model else None,
    )


def _data(oven: Oven, model: OvenModel | None) -> PlantData:
    """Return the oven around which others are drawn: the simulator's own, or one made from the fit."""
    if model is None or oven.name in BUNDLED:
        return plant_for(oven, 0).data
    return plant_data(oven, model)


def summary(verdicts: Sequence[Verdict]) -> dict[str, Any]:
    """Return what a campaign amounts to, for `--json`."""
    return {
        "runs": len(verdicts),
        "faulted": sum(bool(v.faults) for v in verdicts),
        "cut": sum(bool(v.cause) for v in verdicts),
        "unsafe": sum(bool(v.unsafe) for v in verdicts),
        "wrong_complete": sum(bool(v.wrong) for v in verdicts),
        "wrong_cause": sum(v.other_cause for v in verdicts),
        "late": sum(bool(v.late) for v in verdicts),
        "false_trips": sum(bool(v.false_trip) for v in verdicts),
        "untrue_not_detectable": sum(bool(v.untrue) for v in verdicts),
        "untrue_by": named(v for v in verdicts if v.untrue),
        "unguarded": sum(bool(v.unguarded) for v in verdicts),
        "unguarded_by": named(v for v in verdicts if v.unguarded),
        "without_limit": sum(not v.limit_fitted for v in verdicts),
        "off_by_hand": sum(any(a.startswith("off") for a in v.acts) for v in verdicts),
        "failed_seeds": sorted(v.seed for v in verdicts if v.failed),
        "not_detectable": sorted({f"{v.rows[0]}: {v.stands_in}" for v in verdicts if v.stands_in}),
    }


def named(verdicts: Iterable[Verdict]) -> dict[str, int]:
    """Return how often each fault, or pair of faults, is among them, the most frequent first."""
    counted = Counter(" + ".join(v.rows) for v in verdicts)
    return dict(sorted(counted.items(), key=lambda item: (-item[1], item[0])))
