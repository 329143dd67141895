"""Thin parts in view of the elements: how far their skin passes the goal of a temper with the sensor on it.

    nice -n 19 python -m tests.bench.control.judges.thin_parts --kept thin --seeds 1-2 --families open-coil

Each judge's oven gets a box with coils on its side walls and three lone parts in it, each a node of its own:
a 2 mm blade on edge and one lying flat in the middle, and a 6 mm one near a wall. What they see of the coils
is integrated over the strips (two small areas: cos cos dA / pi r2, textbook), not drawn. kilnctl knows its
oven file, the learned model and the recipe, and nothing else. Rows stay in the folder; looks are counted.
With `--surveyed` an owner has surveyed the oven once before, in the plan's own heat on another day: what
sensors at the three parts' places, at the older blade's and beside the oven's own read in the end, and the
highest on the way, each by a sensor that is off by its own error.
"""

import argparse
import json
import math
import random
from dataclasses import replace
from pathlib import Path
from typing import Any

from kilnctl.care.survey import deviations
from kilnctl.config.oven import Oven
from kilnctl.errors import ConfigError
from kilnctl.model.oven_model import OvenModel
from kilnctl.model.surveyed import Surveyed
from kilnctl.profile.segments import Profile, Soak
from kilnctl.treatment.planning import plan_profile
from tests.bench.control.judges.driver import file_for, run
from tests.bench.control.judges.families.named import PLAIN_FAMILIES
from tests.bench.control.judges.network import SIGMA, Network
from tests.bench.control.judges.oven import JudgeOven
from tests.bench.control.judges.table import Folder, count, refuse_known

GOAL_C, SOAK_S = 218.0, 3600.0
# How much of a coil shows: on the surface all of it, in a groove a third; the others show none.
SHOWS = {"open-coil": 1.0, "light-fibre": 1.0, "embedded": 0.0, "muffle": 0.0, "fan-duct": 0.0}
IN_A_GROOVE = 0.35
# What an owner says of them; of coils in grooves nobody has said anything.
SAYS = {
    "open-coil": "open",
    "light-fibre": "open",
    "embedded": "embedded",
    "muffle": "muffle",
    "fan-duct": "fan",
}
SURVEY_SD_K = 1.0  # of a calibrated couple, at a temper
EMISSIVITY, COIL_MM, CELLS = 0.75, 14.0, 24
Place = tuple[float, float, float]


def view(
    at: Place, faces: tuple[Place, Place], wide_m: float, high_m: float, deep_m: float, rows: int
) -> float:
    """Return what both faces of a small part at a place see of coils along both side walls, in the mean."""
    seen = 0.0
    for row in range(rows):
        z = high_m * (row + 0.5) / rows - high_m / 2
        for cell in range(CELLS):
            y = deep_m * (cell + 0.5) / CELLS - deep_m / 2
            for side in (-1.0, 1.0):
                way = (side * wide_m / 2 - at[0], y - at[1], z - at[2])
                far2 = sum(w * w for w in way)
                away = abs(way[0]) / math.sqrt(far2)  # the strip looks into the chamber
                for face in faces:
                    towards = sum(f * w for f, w in zip(face, way, strict=True)) / math.sqrt(far2)
                    strip_m2 = COIL_MM / 1000.0 * deep_m / CELLS
                    seen += max(0.0, towards) * away * strip_m2 / (math.pi * far2)
    return seen / len(faces)


class PartOven(JudgeOven):
    """A judge's oven with the three parts in it. `peaks_c` and `late_c` are by part: highest, and now."""

    def __init__(self, family: str, seed: int, day: str) -> None:
        super().__init__(family, seed, day)
        dice = random.Random(f"parts {family} {seed}")
        scale = math.sqrt(self.net.plan.masses["skin"][0] / 2500.0)  # larger ovens have larger chambers
        wide_m, high_m = 0.22 * scale * dice.uniform(0.8, 1.2), 0.18 * scale * dice.uniform(0.8, 1.2)
        deep_m, rows = 0.3 * scale, dice.choice((3, 5, 7))
        sides, flat = ((1.0, 0.0, 0.0), (-1.0, 0.0, 0.0)), ((0.0, 0.0, 1.0), (0.0, 0.0, -1.0))
        low = -high_m / 4
        places = {
            "on edge": ((0.0, 0.0, low), sides, 2.0),
            "flat": ((0.0, 0.0, low), flat, 2.0),
            "near a wall": ((0.3 * wide_m, 0.0, low), sides, 6.0),
        }
        shows = SHOWS.get(family, IN_A_GROOVE)
        self.views = {
            n: shows * view(at, faces, wide_m, high_m, deep_m, rows) for n, (at, faces, _) in places.items()
        }
        self._fit_in({name: mm for name, (_, _, mm) in places.items()})
        self.peaks_c = dict.fromkeys(self.views, self.ambient_c)

    def _fit_in(self, sections_mm: dict[str, float]) -> None:
        plan = self.net.plan
        of_blade = [t for t in plan.ties if t.b == "blade" and t.a != "element"]
        air = next(t for t in of_blade if t.w_k)
        wall = next(t for t in of_blade if t.glow)
        film = air.w_k / (0.04 / 7.85)
        for name, mm in sections_mm.items():
            kg, m2 = 0.02, 0.02 / (7850.0 * mm / 2000.0)
            plan.mass(name, 450.0 * kg, 0.5 * kg)
            plan.tie(air.a, name, w_k=film * m2)
            plan.tie(wall.a, name, glow=SIGMA * EMISSIVITY * m2 * (1.0 - self.views[name]))
            if self.views[name]:
                plan.tie("element", name, glow=SIGMA * EMISSIVITY * m2 * self.views[name])
        self.net = Network(plan, self.ambient_c)

    def step(self, share: float, dt_s: float) -> None:
        """Let dt_s pass."""
        super().step(share, dt_s)
        for name in self.peaks_c:
            self.peaks_c[name] = max(self.peaks_c[name], self.net[name])


def oven_file(judge: JudgeOven) -> Oven:
    """Return what an owner would write who looked into the chamber."""
    return file_for(judge).model_copy(update={"elements": SAYS.get(judge.family)})


def temper(rate_c_per_h: float | None, **keys: Any) -> Profile:
    """Return a temper of a 2 mm blade as a profile file asks for it."""
    rate = {"rate": f"{rate_c_per_h} C/h"} if rate_c_per_h else {}
    why = {"purpose": "temper"}
    ramp = {"kind": "ramp", "to": f"{GOAL_C} C", **rate, **why}
    soak = {"kind": "soak", "at": f"{GOAL_C} C", "time": f"{SOAK_S} s", "clock": "part", "band": "3 K", **why}
    return Profile.model_validate({"name": "thin", "section": "2 mm", "segment": (ramp, soak), **keys})


def survey(family: str, seed: int, model: OvenModel) -> tuple[Surveyed, ...]:
    """Return what an owner's survey of the five places finds, in the heat that an unsurveyed plan makes.

    Nothing where `care survey` refuses it: a place that nobody believes.
    """
    judge, dice = PartOven(family, seed, "survey"), random.Random(f"survey {family} {seed}")
    file = oven_file(judge)
    profile = plan_profile(temper(None), None, file, model).profile
    run(judge, file, profile, model)
    soak = next(s for s in profile.segments if isinstance(s, Soak))
    at_c = soak.at_c if soak.sensor_c is None else soak.sensor_c
    errors_k = {name: dice.gauss(0.0, SURVEY_SD_K) for name in (*judge.peaks_c, "drawn", "sensor")}
    ends_c = {name: judge.net[name] for name in judge.peaks_c} | {
        "drawn": judge.blade_c,
        "sensor": judge.true_c,
    }
    most_c = judge.peaks_c | {"drawn": judge.peak_blade_c}
    try:
        _, high_k = deviations(at_c, [(name, c + errors_k[name]) for name, c in ends_c.items()])
    except ConfigError:
        return ()
    return (Surveyed(at_c, high_k, max(c + errors_k[name] for name, c in most_c.items()) - at_c),)


def look(
    family: str, seed: int, model: OvenModel | None, rate_c_per_h: float | None, planned: bool = True
) -> dict[str, Any]:
    """Temper in a judge's oven as `kilnctl run` would; return by how much each part passed the goal.

    "drawn" is the older blade of the structures, whose view is drawn (0.2 to 0.4 of open coils).
    """
    judge = PartOven(family, seed, f"temper {rate_c_per_h}")
    file = oven_file(judge)
    profile = temper(rate_c_per_h)
    profile = plan_profile(profile, None, file, model).profile if planned else profile
    heat = run(judge, file, profile, model)
    soak = next(n for n, s in enumerate(profile.segments) if isinstance(s, Soak))
    began_s = next((t.at_s for t in heat.ticks if t.segment >= soak), math.nan)
    return {
        **{f"{name}, over K": c - GOAL_C for name, c in judge.peaks_c.items()},
        **{f"{name}, at the end K": judge.net[name] - GOAL_C for name in judge.peaks_c},
        "drawn, over K": judge.peak_blade_c - GOAL_C,
        "drawn, at the end K": judge.blade_c - GOAL_C,
        "sensor K": judge.true_c - GOAL_C,
        "views": [round(v, 2) for v in judge.views.values()],
        "began min": began_s / 60.0,
        "took min": heat.ticks[-1].at_s / 60.0,
        "ended": heat.outcome.outcome,
        "trip": heat.tripped,
    }


WAYS = {"full heat": None, "400 C/h": 400.0}


def main() -> None:
    """Run what is asked and print a row each."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--kept", type=Path, required=True)
    parser.add_argument("--seeds", required=True, help="like 1-3 or 7")
    parser.add_argument("--families", default=",".join(PLAIN_FAMILIES))
    parser.add_argument("--ways", default=",".join(WAYS))
    parser.add_argument("--unlearned", action="store_true")
    parser.add_argument("--surveyed", action="store_true")
    parser.add_argument("--unplanned", action="store_true", help="run the file as it stands")
    parser.add_argument("--as", dest="what", default="thin parts, while building")
    parser.add_argument("--first", action="store_true")
    asked = parser.parse_args()
    low, _, high = asked.seeds.partition("-")
    ovens = [(f, s) for s in range(int(low), int(high or low) + 1) for f in asked.families.split(",")]
    folder = Folder(asked.kept)
    if asked.first:
        refuse_known([f"{f} {s}" for f, s in ovens], folder)
    for family, seed in ovens:
        print(f"{family} {seed}: looked at {count(f'{family} {seed}', asked.what)} times, this one counted")
        model = None if asked.unlearned else folder.model(family, seed)
        if isinstance(model, str):
            print(family, seed, "not learned:", model)
            continue
        if asked.surveyed and model is not None:
            model = replace(model, surveyed=survey(family, seed, model))
        for way in asked.ways.split(","):
            row = look(family, seed, model, WAYS[way], not asked.unplanned)
            short = {k: round(v, 1) if isinstance(v, float) else v for k, v in row.items()}
            print(json.dumps({"oven": f"{family} {seed}", "way": way, **short}), flush=True)


if __name__ == "__main__":
    main()
