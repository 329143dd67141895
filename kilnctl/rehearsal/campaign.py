"""Faulted heats by the number: the whole controller in virtual time, one seeded fault each, judged on truth.

Everything about a heat follows from its seed, so that any failure can be replayed.
"""

import random
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass
from typing import Any

from kilnctl.config.oven import Oven
from kilnctl.errors import ConfigError, ProfileError
from kilnctl.model.oven import OvenModel
from kilnctl.profile.segments import Profile
from kilnctl.rehearsal.dry_run import parse_faults, rehearse
from kilnctl.rehearsal.expected import EXPECTED
from kilnctl.rehearsal.judge import Verdict, Watch, judge
from kilnctl.runtime.job import Job
from kilnctl.tomlfile import loads
from simulator.faults import FAULTS


@dataclass(frozen=True, slots=True)
class Task:
    """One faulted heat as plain data, which any process can run. `length_s` is how long the heat takes."""

    seed: int
    oven: str
    profile: str
    length_s: float
    model: dict[str, Any] | None = None
    fault: str = ""


def tasks(
    oven: str, profile: str, length_s: float, seeds: Iterable[int], model: dict[str, Any] | None = None
) -> list[Task]:
    """Return one task a seed, each with a fault drawn by it."""
    return [Task(seed, oven, profile, length_s, model, drawn_fault(seed, length_s)) for seed in seeds]


def drawn_fault(seed: int, length_s: float) -> str:
    """Return the script of a seed's fault: each kind in turn, at a random moment of the heat."""
    dice, names = random.Random(seed), sorted(EXPECTED)
    name = names[seed % len(names)]
    at_s = dice.uniform(0.02, 0.98) * length_s
    kind, values = FAULTS[name], EXPECTED[name].value
    value = f":{dice.choice(values):g}" if values and kind.usual is not None else ""
    return f"{name}@{at_s:.0f}s{value}"


def run_one(task: Task) -> Verdict:
    """Run one heat to its end and judge it."""
    oven = loads(task.oven, Oven, ConfigError, "oven")
    profile = loads(task.profile, Profile, ProfileError, "profile")
    faults = tuple(parse_faults([task.fault] if task.fault else []))
    model = None if task.model is None else OvenModel.from_dict(task.model)
    watch = Watch(fault_s=faults[0].at_s if faults else float("inf"))
    rehearsal = rehearse(oven, Job(profile), faults=faults, seed=task.seed, model=model, on_tick=watch)
    watch.rehearsal = rehearsal
    outcome = rehearsal.run()
    return judge(task.seed, rehearsal, outcome, watch, faults)


def run_all(
    work: Sequence[Task], executor: Executor | None = None, seen: Callable[[Verdict], object] = lambda _: None
) -> list[Verdict]:
    """Run every task, here or on an executor of concurrent.futures, in the order of the tasks."""
    verdicts: Iterator[Verdict] = map(run_one, work) if executor is None else executor.map(run_one, work)
    found = []
    for verdict in verdicts:
        seen(verdict)
        found.append(verdict)
    return found


def summary(verdicts: Sequence[Verdict]) -> dict[str, Any]:
    """Return what a campaign amounts to, for `--json`."""
    unsafe = [v for v in verdicts if v.unsafe]
    wrong = [v for v in verdicts if v.wrong]
    return {
        "runs": len(verdicts),
        "unsafe": len(unsafe),
        "wrong_complete": len(wrong),
        "late": sum(v.late for v in verdicts),
        "failed_seeds": sorted({v.seed for v in (*unsafe, *wrong)}),
        "not_detectable": sorted({f"{_name(v)}: {_stands_in(v)}" for v in verdicts if _stands_in(v)}),
    }


def _stands_in(verdict: Verdict) -> str:
    """Return what stands in for software that let a fault pass, empty where it did not."""
    return "" if verdict.cause or not verdict.faults else EXPECTED[_name(verdict)].blind


def _name(verdict: Verdict) -> str:
    return verdict.faults[0].partition("@")[0] if verdict.faults else "no fault"


def table(verdicts: Sequence[Verdict]) -> list[tuple[str, int, str, str, str]]:
    """Return a row per fault: name, heats, what cut them, seconds of heat until then, what is missed."""
    rows = []
    for name in sorted({_name(v) for v in verdicts}):
        mine = [v for v in verdicts if _name(v) == name]
        cut = [v for v in mine if v.cause]
        causes = ", ".join(sorted({v.cause.replace("_", " ") for v in cut})) or "–"
        times = sorted(v.after_s for v in cut)
        after = f"{times[len(times) // 2]:.0f} ({times[-1]:.0f})" if times else "–"
        blind = EXPECTED[name].blind if name in EXPECTED and len(cut) < len(mine) else ""
        rows.append((name, len(mine), causes, after, blind))
    return rows
