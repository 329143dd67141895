"""What each word of the great campaign does; `tests.bench.campaign` reads the words."""

import argparse
import json
from collections.abc import Callable, Iterator
from dataclasses import asdict
from functools import partial
from pathlib import Path

from kilnctl.cli.plan.heats_progress import shown
from kilnctl.cli.plan.prove_page import complaint
from kilnctl.heat.runner import Runner
from kilnctl.rehearsal import lateness
from kilnctl.rehearsal.campaign import Task, drawn, heat_of, run_one, summary, tasks, timed
from kilnctl.rehearsal.executor import pool
from kilnctl.rehearsal.hazards import page
from kilnctl.rehearsal.judge import Verdict
from kilnctl.rehearsal.second_oven import Room, room_of
from tests.faults.drilled import Drilled, drilled
from tests.faults.scenarios import OVENS, long_scenario, scenarios

# What no software can tell apart, whatever the number says.
BOUNDS = """What physics forbids: without measured volts, half an element that is dead before it was seen
whole in the same heat. With a tenth more volts and a fifth less loss than the model, 31 % of full power
is then missing; a sound oven with a tenth less and a fifth more lacks as much. That it arrives late is
told.

A sensor that reads the room from before the first look, in a hot oven that is not learned, reads what a cold
oven reads; only heat tells them apart, and a sound one of that kind was seen to take 202 s of full heat for
its first answer. The table's 10 s count from the true temperature (seed 265505: 591 s, 231 s of them heated,
where 260 s of heat are allowed from cold).

A count of sixteen bits that is ten times too large passes its end: 728.2 °C (65536 / 90) reads as itself, and
near it no step shows, only ten times the noise and the slope (seed 253030: 184 s).

Where no switch tells of the door, a quarter more heat is waited for: a cold charge may have been put in
(seed 267833: 122 s of heat for 120 s).

A sensor that comes out of an oven at 80 °C that is not learned first falls to what its new place has, 60 °C
here. Only then can it be asked for an answer to heat, and a sound one of that build may take two minutes
of it (seeds 361712, 363980 and 368354: 183, 124 and 219 s of heat, the chamber at 114 °C at most).

A relay that leaks half of each wave hides under a ramp that asks for most of the heat: 2 to 13 % of full
power is unexplained there, 35 to 44 % in a soak. A soak of four minutes between two ramps is too short to be
sure (seeds 360712 and 368002: 580 and 573 s; the oven was 7 K over its goal at most)."""


def do(asked: argparse.Namespace) -> None:
    """Do what was asked."""
    if asked.word == "heats":
        run(asked)
    elif asked.word == "rooms":
        run_others(asked, partial(room_of, scenarios=scenarios(), sound=asked.sound))
    elif asked.word == "drills":
        run_others(asked, drilled)
    elif asked.word == "page":
        print(text(asked.found, asked.commit), end="")
    elif asked.word == "lateness":
        print(lateness.page(), end="")
    else:
        replay(drawn(asked.seed, scenarios(), not asked.sound), asked.every)


def run(asked: argparse.Namespace) -> None:
    """Run what is not there yet, and append it line by line as it ends."""
    among = [timed(long_scenario(oven)) for oven in OVENS] if asked.long else scenarios()
    there = {v.seed for v in read([asked.out])} if asked.out.exists() else set()
    work = tasks(among, [seed for seed in range(*asked.seeds) if seed not in there], not asked.sound)
    with pool(jobs=asked.jobs) as executor, asked.out.open("a", encoding="utf-8", buffering=1) as out:
        for verdict in shown(run_one, work, executor, "heats"):
            out.write(json.dumps(asdict(verdict)) + "\n")
            if verdict.failed:
                print(f"seed {verdict.seed}: {', '.join(verdict.faults)}: {complaint(verdict)}", flush=True)


def run_others(asked: argparse.Namespace, one: Callable[[int], Room | Drilled]) -> None:
    """Run rooms or drills, append them line by line as they end, and print what was wrong."""
    wrong = 0
    with pool(jobs=asked.jobs) as executor, asked.out.open("a", encoding="utf-8", buffering=1) as out:
        for found in shown(one, range(*asked.seeds), executor, asked.word):
            out.write(json.dumps(asdict(found)) + "\n")
            wrong += bool(found.wrong)
            if found.wrong:
                print(f"seed {found.seed}: {found.wrong}", flush=True)
    print(f"{wrong} wrong")


def read(paths: list[Path]) -> Iterator[Verdict]:
    """Read verdicts back."""
    for path in paths:
        for line in path.read_text(encoding="utf-8").splitlines():
            known = json.loads(line)
            yield Verdict(**{**known, **{name: tuple(known[name]) for name in ("faults", "rows", "acts")}})


def text(paths: list[Path], commit: str) -> str:
    """Return the page of hazards, with what the campaign amounts to."""
    verdicts = list(read(paths))
    faulted, sound = [v for v in verdicts if v.faults], [v for v in verdicts if not v.faults]
    found = summary(faulted)
    pairs = sum(len(v.faults) > 1 for v in faulted)
    untrue, hot = _named(found["untrue_by"]), _named(found["unguarded_by"])
    said = (
        f"Made by `python -m tests.bench.campaign page` from {found['faulted']} faulted heats ({pairs}\n"
        f"with two faults; {_seeds(faulted)}) at commit {commit}, each looked at for the first time.\n"
        "Those with two faults count in the sums and not in the rows. Both bundled ovens, cold and warm,\n"
        "with few and many signals, learned and not, under model and PID; each heat on an oven of its\n"
        "own, within 20 % of the learned one in every constant and 10 % of its supply. All invented. Faults\n"
        "of a pair have each their own number; the first seconds after the end and the watch are in it.\n\n"
        f"{found['cut']} were cut, {found['off_by_hand']} put off by hand; {found['without_limit']} had no "
        "independent limit.\n"
        f"Unsafe ends: {found['unsafe']}; wrong complete: {found['wrong_complete']}; wrong first cause: "
        f"{found['wrong_cause']};\nlate by LATENESS.md: {found['late']}; false trips: "
        f"{found['false_trips']}.\n\n"
        f"Complete and untrue, on a reading that no software could doubt there: "
        f"{found['untrue_not_detectable']}{untrue}.\n\nHotter than the plan by more than 25 K where "
        f"software is blind and no limit was fitted: {found['unguarded']}{hot}.\n\n"
        f"Beside them {len(sound)} sound heats ({_seeds(sound)}): {sum(bool(v.cause) for v in sound)} were "
        f"cut, {sum(v.failed for v in sound)} failed.\n\n"
        f"{BOUNDS}\n\n{_failures(verdicts)}"
    )
    return page(faulted, said)


def _seeds(verdicts: list[Verdict]) -> str:
    seeds = [v.seed for v in verdicts]
    return f"seeds {min(seeds)} to {max(seeds)}" if seeds else "none"


def _failures(verdicts: list[Verdict]) -> str:
    """Return each heat that was not as it must be, for replay."""
    failed = [
        f"- seed {v.seed}: {', '.join(v.faults) or 'sound'}: {complaint(v)}" for v in verdicts if v.failed
    ]
    return "What was not as it must be:\n\n" + "\n".join(failed) if failed else "All were as they must be."


def _named(counts: dict[str, int]) -> str:
    """Return how often each fault is among them; those of a pair, which are many, in one number."""
    if not counts:
        return ""
    alone = [f"{name} {count}" for name, count in counts.items() if " + " not in name]
    pairs = sum(count for name, count in counts.items() if " + " in name)
    return f" ({', '.join([*alone, *([f'in pairs {pairs}'] if pairs else [])])})"


def replay(task: Task, every_s: int) -> None:
    """Run one heat again and print its seconds."""

    def look(runner: Runner) -> None:
        if int(runner.now.elapsed_s) % every_s == 0 and runner.now.scan is not None:
            plant = heat.board.plant
            goal_c = runner.now.cursor.setpoint_c
            print(
                f"{runner.now.elapsed_s:7.0f} {runner.now.state:8s} {runner.now.segment_kind:8s}"
                f" goal {goal_c if goal_c is None else round(goal_c)} reads {runner.now.scan.process.value}"
                f" true {plant.sensor.junction_c:.1f} duty {runner.now.duty:.2f} heat {plant.power_w:.0f} W"
                f" unexplained {runner.now.unexplained}"
            )

    print(task.faults, f"oven {task.near}", f"start {task.scenario.start_c}")
    heat, _ = heat_of(task, look)
    print(heat.run().cause)
    print(run_one(task))
