"""A judge of files that were loaded or refused, written from what a shop can have, not from the loaders.

Bounds are common practice, no single source. What is taken must be whole and plausible, and planned
or refused by the plan; what is refused must be refused in clear lines.
"""

import datetime
import math
import re
import unicodedata
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

from pydantic import BaseModel

from kilnctl.config import home
from kilnctl.config.oven import Oven, load_oven
from kilnctl.errors import ConfigError, KilnctlError, ProfileError
from kilnctl.profile.segments import Cool, Operator, Profile, Ramp, Soak, load_profile
from kilnctl.treatment.planning import plan, plan_profile
from kilnctl.treatment.recipe.recipes import Recipe, load_recipe
from kilnctl.treatment.steel.steels import Steel, load_steel

LOADERS: dict[str, tuple[Callable[[Path], Any], type[KilnctlError]]] = {
    "oven": (load_oven, ConfigError),
    "recipe": (load_recipe, ProfileError),
    "profile": (load_profile, ProfileError),
    "steel": (load_steel, ProfileError),
}

OVENS = tuple(load_oven(path) for path in sorted(home.bundled("ovens").glob("*.toml")))


def judged(kind: str, path: Path, planned: bool = True) -> tuple[bool, list[str]]:
    """Load a file and plan it; return whether it was taken, and what is wrong with how it was."""
    load, error = LOADERS[kind]
    try:
        made = load(path)
    except KilnctlError as e:
        wrong = [] if isinstance(e, error) else [f"refused by a {type(e).__name__}"]
        return False, wrong + list(_unclear(str(e), path))
    except Exception as e:
        return False, [f"traceback: {type(e).__name__}: {e}"]
    return True, [*PLAUSIBLE[kind](made), *_not_whole(made, kind), *(_unplannable(made) if planned else ())]


def _unplannable(made: Any) -> Iterator[str]:
    """Plan what was taken on every bundled oven: a plan, or a clear line why not."""
    for oven in OVENS if isinstance(made, Recipe | Profile) else ():
        try:
            if isinstance(made, Recipe):
                done = plan(made, load_steel(made.steel) if made.steel else None, oven)
            else:
                done = plan_profile(made, load_steel(made.steel) if made.steel else None, oven)
        except KilnctlError as e:
            if not all(printable(line) for line in str(e).split("\n")):
                yield f"unclear line of the plan: {e}"
        except Exception as e:
            yield f"traceback of the plan: {type(e).__name__}: {e}"
        else:
            yield from _profile(done.profile)
            yield from within("total", done.total_s, 0, 60 * 24 * 3600)


LONGEST = 300


def printable(line: str) -> bool:
    """Return whether a line moves no cursor: letters, signs and spaces only."""
    return all(c.isprintable() or unicodedata.category(c) == "Zs" for c in line)


def _unclear(said: str, path: Path) -> Iterator[str]:
    lines = said.split("\n")
    if len(lines) > 12:
        yield f"{len(lines)} lines"
    for line in lines:
        if path.name not in line or not printable(line) or len(line.removeprefix(str(path.parent))) > LONGEST:
            yield f"unclear line: {line!r:.400}"
        if re.search(
            r"Traceback|discriminator|validation|pydantic|Errno|instance|Input should|regex|tuple",
            line,
        ):
            yield f"words of the library: {line:.300}"


def _not_whole(made: Any, name: str) -> Iterator[str]:
    if isinstance(made, BaseModel):
        for key in type(made).model_fields:
            yield from _not_whole(getattr(made, key), f"{name}.{key}")
    elif isinstance(made, dict):
        for key, value in made.items():
            yield from _not_whole(value, f"{name}.{key}")
    elif isinstance(made, tuple):
        for n, value in enumerate(made):
            yield from _not_whole(value, f"{name}[{n}]")
    elif isinstance(made, float) and not (math.isfinite(made) and abs(made) <= 1e9):
        yield f"{name} is {made}"
    elif isinstance(made, str) and name.rpartition(".")[2] not in (
        "send",
        "reply",
        "banner",
        "who",
        "checksum_mark",
    ):
        if len(made) > 2000 or any(ord(c) < 32 or ord(c) in (127, 0x2028, 0x2029) for c in made):
            yield f"{name} is {made!r:.100}"
    elif isinstance(made, list | datetime.date | datetime.time):
        yield f"{name} is a {type(made).__name__}"


def within(name: str, value: float | None, low: float, high: float) -> Iterator[str]:
    """Yield a complaint where a value is outside what any shop has."""
    if value is not None and not low <= value <= high:
        yield f"{name} is {value}"


def _wires(o: Oven) -> Iterator[str]:
    for name, port in o.port.items():
        yield from within(f"port.{name}.timeout", port.timeout_s, 0.005, 10)
    for name in type(o.signal).model_fields:
        place = getattr(o.signal, name)
        if place is not None and hasattr(place, "scale") and place.scale == 0:
            yield f"{name}: scale 0"
        low, high = (
            getattr(place, "low_c", getattr(place, "low", 0)),
            getattr(place, "high_c", getattr(place, "high", 1)),
        )
        if not low < high:
            yield f"{name}: low {low} high {high}"
        yield from within(f"{name}.resolution", getattr(place, "resolution_k", None), 1e-6, 20)


def _oven(o: Oven) -> Iterator[str]:
    s, heater, process = o.switching, o.output.heater, o.signal.process
    yield from _wires(o)
    yield from within("limit", o.limit_c, 40, 1400)
    yield from within("power", o.power_w, 10, 100_000)
    yield from within("supply", o.supply_v, 10, 1000)
    yield from within("ambient", o.ambient_c, -40, 60)
    yield from within("tune_ceiling", o.tune_ceiling_c, o.ambient_c, o.limit_c)
    yield from within("window", s.window_s, o.tick_s, 600)
    yield from within("min_on", s.min_on_s, 0, s.window_s)
    yield from within("min_off", s.min_off_s, 0, s.window_s)
    yield from within("park", heater.park_c, -40, 40)
    yield from within("holds", heater.holds_s, o.tick_s, 60)
    if o.dead_man is not None:
        yield from within("drops_after", o.dead_man.drops_after_s, o.tick_s * 1.0001, 60)
        if o.dead_man.zero_drops and o.dead_man.write == 0:
            yield "the dead-man is fed with the value that drops it"
    if not o.name.strip() or not o.isolator.strip():
        yield "no name or no isolator"
    if "/" in o.name or o.name.startswith("."):
        yield f"a name that is a path: {o.name!r}"
    for name, output in (("heater", heater), ("contactor", o.output.contactor), ("horn", o.output.horn)):
        if output is not None and output.on == output.off and heater.kind != "set-point":
            yield f"{name}: on and off are the same"
    yield from within("process.low", process.low_c, -273.2, o.ambient_c)
    yield from within("process.high", process.high_c, o.limit_c, 2500)
    if [z.up_to_c for z in o.zone] != sorted({z.up_to_c for z in o.zone}):
        yield "zones do not rise"
    for zone in o.zone:
        yield from within("integral", zone.integral_s, 0.1, 1e5)
        yield from within("derivative", zone.derivative_s, 0, 1e4)


DAYS_S = 48 * 3600.0


def _profile(p: Profile) -> Iterator[str]:
    if not p.segments:
        yield "no segments"
    yield from within("section", p.section_mm, 0.1, 200)
    yield from within("revision", p.revision, 1, 1e6)
    yield from _goal(p.goal_hrc)
    for n, segment in enumerate(p.segments):
        match segment:
            case Ramp() | Cool():
                yield from within(f"{n}.to", segment.to_c, -100, 1400)
                yield from within(f"{n}.rate", segment.rate_c_per_h, 0.1, 10_000)
            case Soak():
                yield from within(f"{n}.at", segment.at_c, -100, 1400)
                yield from within(f"{n}.time", segment.soak_s, 0, DAYS_S)
                yield from within(f"{n}.band", segment.band_k, 0.1, 100)
            case Operator():
                yield from within(f"{n}.hold", segment.hold_c, -100, 1400)
        yield from within(f"{n}.at_most", getattr(segment, "at_most_s", None), 1, DAYS_S)


def _goal(goal: tuple[float, float] | None) -> Iterator[str]:
    if goal is not None and not 20 <= goal[0] <= goal[1] <= 70:
        yield f"goal {goal}"


def _recipe(r: Recipe) -> Iterator[str]:
    if not r.treatment:
        yield "no treatment"
    if not r.name.strip():
        yield "no name"
    yield from within("section", r.section_mm, 0.1, 200)
    yield from within("revision", r.revision, 1, 1e6)
    yield from _goal(r.goal_hrc)
    for t in r.treatment:
        for key in type(t).model_fields:
            value = getattr(t, key)
            if key.endswith("_c") and value is not None:
                for one in value if isinstance(value, tuple) else (value,):
                    yield from within(f"{t.do}.{key}", one, -200, 1400)
            elif key.endswith("_s"):
                yield from within(f"{t.do}.{key}", value, 0, DAYS_S)
            elif key.endswith("_per_h"):
                yield from within(f"{t.do}.{key}", value, 0.1, 10_000)
            elif key == "mass_kg":
                yield from within(f"{t.do}.{key}", value, 0.001, 100)
        for step in getattr(t, "step", ()):
            yield from within("step.to", step.to_c, 20, 1400)
            yield from within("step.time", step.time_s, 0, DAYS_S)
        oil = getattr(t, "oil", None)
        if oil is not None:
            yield from within("oil.mass", oil.mass_kg, 0.1, 1000)
            yield from within("oil.start", oil.start_c, -20, oil.flash_c)
            yield from within("oil.flash", oil.flash_c, 40, 400)
            yield from within("oil.highest", oil.highest_c, oil.start_c, oil.flash_c)


def _steel(s: Steel) -> Iterator[str]:
    if not s.grade.strip():
        yield "no grade"
    for element, claim in s.composition.items():
        low = claim.low if claim.low is not None else 0
        yield from within(element, claim.typical, low, claim.high if claim.high is not None else 100)
    yield from within("sum of the composition", sum(c.typical for c in s.composition.values()), 0, 100)
    yield from within("carbon", s.carbon, 0.01, 3)
    for key in (
        "points",
        "normalise",
        "anneal",
        "stress_relief",
        "preheat",
        "austenitise",
        "too_hot",
        "spoils",
    ):
        for band in getattr(s, key):
            yield from within(key, band.low_c, -273.2, band.high_c)
            yield from within(key, band.high_c, -200, 1400)
            for time in ("soak_low_s", "soak_high_s", "hold_s"):
                yield from within(f"{key}.{time}", getattr(band, time, None), 0, 200 * 3600)
            soak = (getattr(band, "soak_low_s", None), getattr(band, "soak_high_s", None))
            if None not in soak and soak[0] > soak[1]:
                yield f"{key}: soak {soak}"
            yield from within(f"{key}.rate", getattr(band, "rate_c_per_h", None), 0.1, 10_000)
    yield from _after_the_quench(s)


def _after_the_quench(s: Steel) -> Iterator[str]:
    for rule in s.temper:
        yield from within("temper.from", rule.count_low, 1, rule.count_high)
        yield from within("temper.time", rule.time_s, 60, DAYS_S)
    for table in s.temper_table:
        for row in table.row:
            yield from within("row", row.at_c, 0, 1000)
    for quench in s.quench:
        hrc = quench.as_quenched_hrc
        if hrc is not None and hrc[0] > hrc[1]:
            yield f"as quenched {hrc}"
    for cold in s.cold:
        yield from within("cold", cold.low_c, -273.2, 30)
        yield from within("cold.time", cold.time_s, 0, 100 * 3600)
    for dissolved in s.dissolved:
        yield from within("dissolved", dissolved.at_c, 500, 1400)
        yield from within("dissolved", dissolved.percent, 0, 3)


PLAUSIBLE: dict[str, Callable[[Any], Iterator[str]]] = {
    "oven": _oven,
    "recipe": _recipe,
    "profile": _profile,
    "steel": _steel,
}
