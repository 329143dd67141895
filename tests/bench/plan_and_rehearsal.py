"""Does a heat take the time that its plan says? Each job planned, then rehearsed on the very same oven.

    python -m tests.bench.plan_and_rehearsal bundled OUT        every bundled recipe on every bundled oven
    python -m tests.bench.plan_and_rehearsal drawn OUT --seeds 1 21     random ovens, profiles of our own
    python -m tests.bench.plan_and_rehearsal table OUT

The oven is learned from a heat-up of its own, as its owner would, and the rehearsal heats the same simulated
oven, whose physics is built otherwise; a person takes at each step the time of the plan. OUT gets one line of
JSON a heat; the table says what each kind of segment adds to the difference, and below it what the page of a
dry-run says of each heat that is further apart than asked.
"""

import argparse
import json
import random
import time
from collections import defaultdict
from collections.abc import Iterator
from functools import lru_cache
from pathlib import Path
from typing import Any

from kilnctl.cli.plan.forecast_page import apart_lines, forecast_from_cold
from kilnctl.config.home import known
from kilnctl.config.oven import Oven, load_oven
from kilnctl.errors import KilnctlError
from kilnctl.heat.job import Job
from kilnctl.model.oven_model import OvenModel
from kilnctl.profile.segments import Profile
from kilnctl.rehearsal.drawn_oven import draw_oven
from kilnctl.rehearsal.dry_run import plant_for, rehearse
from kilnctl.rehearsal.learning_heat import learn
from kilnctl.treatment.job_file import load_job
from kilnctl.treatment.planning import Plan, plan_profile
from simulator.oven.ovens import FAMILIES

WAYS = ("cooling learned", "learned", "not learned", "another day")
ASKED = 0.02
HAND_WARM_C = 45.0


@lru_cache(maxsize=4)
def learned(name: str, build: str, seed: int, way: str) -> OvenModel | None:
    if way == "not learned":
        return None
    return learn(oven_of(name, build), seed, HAND_WARM_C if way == "cooling learned" else None)


def oven_of(name: str, build: str = "") -> Oven:
    """Return a bundled oven, or one of another build under its own name."""
    oven = load_oven(known("ovens")[name])
    if not build:
        return oven
    changes: dict[str, Any] = {"name": f"a {build} oven", "build": build, "elements": None}
    changes["power_w"] = {"fibre": 2000.0, "heavy": 4200.0}.get(build, oven.power_w)
    if build == "fan":
        changes |= {"limit_c": 330.0, "tune_ceiling_c": 300.0}
    return oven.model_copy(update=changes)


def profile_of(build: str, seed: int) -> Profile:
    """Return a profile of our own: one to three heatings, each with its soak, then a cooling."""
    dice, segments = random.Random(f"{build}{seed}"), []
    low_c, high_c = (120.0, 235.0) if build in ("leaky", "fan") else (150.0, 860.0)
    at_c = 20.0
    for _ in range(dice.randint(1, 3)):
        at_c = (
            round(min(dice.uniform(max(low_c, at_c + 30.0), high_c), high_c))
            if at_c + 40.0 < high_c
            else at_c
        )
        ramp: dict[str, Any] = {"kind": "ramp", "to": f"{at_c} C"}
        rate = dice.choice((None, 60, 100, 150, 300, 400))
        if rate:
            ramp["rate"] = f"{rate} C/h"
        clock = dice.choice(("part", "oven"))
        hold = {
            "kind": "soak",
            "at": f"{at_c} C",
            "time": f"{dice.choice((10, 30, 60, 120))} min",
            "clock": clock,
        }
        segments += [ramp, hold]
    cool: dict[str, Any] = {"kind": "cool", "to": f"{dice.choice((60, 100, round(at_c * 0.6)))} C"}
    if dice.random() < 0.4:
        cool["rate"] = f"{dice.choice((20, 40, 80))} C/h"
    segments.append(cool)
    keys = {
        "name": f"own {build} {seed}",
        "segment": tuple(segments),
        "section": f"{dice.choice((3, 6, 12, 25))} mm",
    }
    return Profile.model_validate(keys)


def row(oven: Oven, build: str, seed: int, way: str, made: Plan, model: OvenModel | None) -> dict[str, Any]:
    plant = plant_for(oven, seed)
    if way == "another day" and model is not None:
        plant = draw_oven(oven, model, seed).plant
    waits_s = tuple(r.duration_s for r in made.rows)
    job = Job(made.profile, planned_s=waits_s)
    before_s = time.process_time()
    heat = rehearse(oven, job, seed=seed, plant=plant, model=model, waits_s=waits_s)
    outcome = heat.run()
    forecast = forecast_from_cold(made.profile, oven, model, waits_s)
    ends = {e.segment: e for e in forecast.ends}
    rows = [
        {
            "kind": s["kind"],
            "label": s["label"],
            "goal_c": s["goal_c"],
            "rate": getattr(made.profile.segments[s["index"]], "rate_c_per_h", None),
            "clock": getattr(made.profile.segments[s["index"]], "clock", None),
            "planned_s": waits_s[s["index"]],
            "took_s": None if s["ended_s"] is None else s["ended_s"] - s["started_s"],
            "ended_s": s["ended_s"],
            "band_s": [ends[s["index"]].early_s, ends[s["index"]].late_s] if s["index"] in ends else None,
        }
        for s in outcome.summary["segments"]
    ]
    return {
        "job": made.profile.name, "oven": oven.name, "build": build, "seed": seed, "way": way,
        "outcome": outcome.outcome, "cause": outcome.cause, "segments": rows,
        "why": apart_lines(forecast, outcome.summary["segments"], model, made.profile),
        "cpu_s": round(time.process_time() - before_s, 2),
    }  # fmt: skip


def bundled(ways: list[str], recipes: list[str]) -> Iterator[dict[str, Any]]:
    for name in sorted(known("ovens")):
        oven = oven_of(name)
        for recipe in recipes or sorted(known("recipes")):
            for way in ways:
                model = learned(name, "", 0, way)
                try:
                    made = load_job(recipe, oven, model)
                except KilnctlError as e:
                    print(f"{recipe} on {name}: {e}", flush=True)
                    break
                yield row(oven, "", 0, way, made, model)


def own(seeds: range, ways: list[str]) -> Iterator[dict[str, Any]]:
    for seed in seeds:
        build = FAMILIES[seed % len(FAMILIES)]
        base = "tempering-oven" if build in ("leaky", "fan") else "hardening-furnace"
        oven = oven_of(base, build)
        for way in ways:
            try:
                model = learned(base, build, seed, way)
                made = plan_profile(profile_of(build, seed), None, oven, model)
            except KilnctlError as e:
                print(f"{build} {seed}: {e}", flush=True)
                break
            yield row(oven, build, seed, way, made, model)


def apart(one: dict[str, Any]) -> tuple[float, float, dict[str, float]]:
    """Return how long a heat was planned, by how much longer it took, and what each kind added, in s."""
    kinds: dict[str, float] = defaultdict(float)
    for s in one["segments"]:
        kinds[s["kind"]] += s["took_s"] - s["planned_s"]
    return sum(s["planned_s"] for s in one["segments"]), sum(kinds.values()), kinds


def outside(one: dict[str, Any]) -> float:
    """Return how far outside its band the worst end of a segment lay, as a share of the whole heat."""
    whole_s = one["segments"][-1]["ended_s"]
    off_s = [0.0]
    for s in one["segments"]:
        early_s, late_s = s["band_s"] or (0.0, None)
        off_s += [early_s - s["ended_s"], 0.0 if late_s is None else s["ended_s"] - late_s]
    return max(off_s) / whole_s


def table(rows: list[dict[str, Any]]) -> Iterator[str]:
    yield "| way | job | oven | planned min | apart % | ramps | soaks | cooling | steps (min) | off band % |"
    yield "|---|---|---|---|---|---|---|---|---|---|"
    for one in sorted(rows, key=lambda r: (r["way"], r["oven"], r["job"], r["seed"])):
        name = f"| {one['way']} | {one['job']} | {one['oven']} {one['seed'] if one['build'] else ''} |"
        if any(s["took_s"] is None for s in one["segments"]) or one["outcome"] != "complete":
            yield f"{name} {one['outcome']}: {one['cause']} |"
            continue
        whole_s, apart_s, kinds = apart(one)
        each = " | ".join(f"{kinds[kind] / 60:+.1f}" for kind in ("ramp", "soak", "cool", "operator"))
        band = f"{100 * outside(one):.1f}"
        yield f"{name} {whole_s / 60:.0f} | {100 * apart_s / whole_s:+.1f} | {each} | {band} |"


def why_told(rows: list[dict[str, Any]]) -> Iterator[str]:
    """Tell of each heat further apart than asked what its page says of it."""
    for one in rows:
        if any(s["took_s"] is None for s in one["segments"]):
            continue
        whole_s, apart_s, _ = apart(one)
        if abs(apart_s) > ASKED * whole_s:
            yield f"{one['way']}, {one['job']} on {one['oven']}: {' '.join(one['why']) or 'SAYS NOTHING'}"


def segments_told(rows: list[dict[str, Any]], least_s: float = 60.0) -> Iterator[str]:
    """Tell each segment that lies apart by more than a minute and a fiftieth of itself."""
    for one in rows:
        for n, s in enumerate(one["segments"]):
            if s["took_s"] is None:
                continue
            apart_s = s["took_s"] - s["planned_s"]
            if abs(apart_s) > max(least_s, ASKED * s["planned_s"]):
                at = "" if s["goal_c"] is None else f"{s['goal_c']:.0f} C"
                yield (
                    f"{one['way']}, {one['job']} on {one['oven']} {one['seed']}: {n + 1} {s['kind']} {at} "
                    f"{s['rate'] or ''} {s['clock'] or ''}: planned {s['planned_s'] / 60:.1f}, "
                    f"took {s['took_s'] / 60:.1f} min ({apart_s / 60:+.1f})"
                )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("what", choices=("bundled", "drawn", "table"))
    parser.add_argument("out", type=Path)
    parser.add_argument("--seeds", type=int, nargs=2, default=(1, 21))
    parser.add_argument("--recipes", nargs="*", default=[])
    parser.add_argument("--ways", nargs="+", default=["learned"], choices=WAYS)
    asked = parser.parse_args()
    if asked.what == "table":
        rows = [json.loads(line) for line in asked.out.read_text().splitlines()]
        print("\n".join([*table(rows), "", *why_told(rows), "", *segments_told(rows)]))
        return
    made = (
        bundled(asked.ways, asked.recipes)
        if asked.what == "bundled"
        else own(range(*asked.seeds), asked.ways)
    )
    with asked.out.open("a") as out:
        for one in made:
            out.write(json.dumps(one) + "\n")
            out.flush()


if __name__ == "__main__":
    main()
