"""A cold charge put in at a step, where no switch tells of the door, beside heat that does not come.

    nice -n 19 python -m tests.bench.control.judges.charges --kept kept [--ramp]

On the ovens that the table has learned into the folder: when the estimate of the balance of energy claims
that heat is missing, in sound heats and in such whose element dies in the step. The heat is asked by a plain
proportional and integral rule, and nothing is cut, so that an oven takes half a second. With `--ramp` the
charge comes in on the way up (500 and 200 degC of 829, 120 of 218).
"""

import argparse
import json
from pathlib import Path
from statistics import median

from kilnctl.model.observer import Observer
from kilnctl.model.oven_model import OvenModel
from kilnctl.model.soft_start import SoftStart
from tests.bench.control.judges.jobs import can_reach
from tests.bench.control.judges.oven import JudgeOven, Module

# The least that is called missing, of full power, and for how long; and what a person does, from the door on.
MISSING, FOR_S = 0.35, 20
ASKED_S, OFF_S, IN_S, SHUT_S, ON_S, ANSWERED_S = -60, -4, 4, 8, 12, 20
LONGEST_S = 25_000
# Share that comes once the isolator is on again; kilograms; seconds of soak before.
HEATS = [(1.0, 0.0, 600), (1.0, 0.5, 600), (1.0, 0.5, 690), (1.0, 1.0, 840), (1.0, 1.5, 600), (1.0, 3.0, 730)]
HEATS += [
    (0.0, 0.0, 600),
    (0.0, 0.5, 690),
    (0.0, 1.5, 600),
    (0.5, 0.0, 600),
    (0.5, 0.5, 600),
    (0.5, 1.5, 700),
]
RAMPS = [(1.0, 0.0, 300), (1.0, 0.5, 300), (1.0, 1.0, 300), (0.0, 0.0, 300), (0.0, 0.5, 300)]
RAMPS += [(0.5, 0.0, 300), (0.5, 0.5, 300)]


class DrawnOut(Module):
    """A sensor that hangs half out of the oven: it follows what it still sees within half a minute."""

    def __init__(self, inside: Module, share: float, room_c: float) -> None:
        super().__init__(inside.kind, inside.seed, inside.shown_c)
        self._share, self._room_c, self._drawn_c = share, room_c, inside.shown_c

    def see(self, true_c: float, dt_s: float) -> None:
        """Take what a sensor in its place would see, in degC."""
        sees_c = self._room_c + self._share * (true_c - self._room_c)
        self._drawn_c += (sees_c - self._drawn_c) * min(dt_s / 30.0, 1.0)
        super().see(self._drawn_c, dt_s)


def called_missing(
    oven: str,
    model: OvenModel,
    goals_c: tuple[float, float],
    soak_s: int,
    kg: float,
    comes: float = 1.0,
    for_s: int = 1000,
    drawn: float | None = None,
) -> int | None:
    """Heat, soak, put a charge in; return seconds from the opened door to the claim, None without one.

    `oven` like "muffle-106"; the second of the goals (degC) counts once the person has answered. `comes`: how
    much of the element's heat comes once the isolator is on again. `drawn`: the share of the oven's warmth
    above the room that the sensor still sees, drawn out with the hand. Raises RuntimeError where it gets
    nowhere.
    """
    family, _, seed = oven.rpartition("-")
    judge, eye = JudgeOven(family, int(seed), f"charge {goals_c[1]:.0f}"), Observer(model, switched=False)
    soft = SoftStart(model.soft_s) if model.soft_s else None
    owed = held = 0.0
    over_s, reached_s = 0, LONGEST_S
    for t in range(LONGEST_S):
        since_s = t - reached_s - soak_s
        below_k = goals_c[since_s >= ANSWERED_S] - judge.sensor.junction_c
        reached_s = t if reached_s == LONGEST_S and below_k < 2.0 else reached_s
        held = min(max(held + 2e-4 * below_k, 0.0), 1.0) if abs(below_k) < 25.0 else held
        owed = min(owed + min(max(0.05 * below_k + held, 0.0), 1.0), 1.5)
        on = owed >= 1.0
        owed -= on
        since_s = t - reached_s - soak_s
        judge.door_open = 0 <= since_s < SHUT_S
        if since_s == IN_S and kg:
            judge.put(kg, bright=int(seed) % 2 == 0)
        if since_s == IN_S and drawn is not None:
            judge.module = DrawnOut(judge.module, drawn, judge.ambient_c)
        judge.health = 1.0 if since_s < OFF_S else 0.0 if since_s < ON_S else comes
        judge.step(float(on), 1.0)
        heat = soft.gives(float(on), 1.0) if soft else float(on)
        asked = ASKED_S <= since_s < ANSWERED_S
        eye.step(judge.sensor.junction_c, heat, judge.ambient_c, 1.0, asked=asked)
        missing = eye.unexplained
        over_s = over_s + 1 if missing is not None and missing < -MISSING else 0
        if since_s >= 0 and over_s >= FOR_S:
            return since_s
        if since_s > for_s:
            return None
    raise RuntimeError("the goal was never reached")


def goals(oven: str, ramp: bool) -> list[tuple[float, float]]:
    """Return the goals of the heats of an oven: before the person has answered, and since."""
    family, _, seed = oven.rpartition("-")
    reached = can_reach(family, int(seed))
    if not ramp:
        return [(goal, goal) for goal in reached]
    return [(500.0, 829.0), (200.0, 829.0)] if 829 in reached else [(120.0, 218.0)]


def main() -> None:
    """Print a line for each kind of heat."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--kept", type=Path, required=True)
    parser.add_argument("--ramp", action="store_true")
    asked = parser.parse_args()
    models = {path.stem: json.loads(path.read_text()) for path in sorted(asked.kept.glob("*-[0-9]*.json"))}
    models = {oven: OvenModel.from_dict(told) for oven, told in models.items() if "not learned" not in told}
    print("| comes | kg | heats | called missing | median s | nine in ten s | worst s |\n" + "|---" * 7 + "|")
    for comes, kg, soak_s in RAMPS if asked.ramp else HEATS:
        every = [(oven, goal) for oven in models for goal in goals(oven, asked.ramp)]
        all_s = [called_missing(oven, models[oven], goal, soak_s, kg, comes) for oven, goal in every]
        some_s = sorted(s for s in all_s if s is not None)
        told = (
            f"{median(some_s):.0f} | {some_s[int(0.9 * len(some_s))]} | {some_s[-1]}"
            if some_s
            else "– | – | –"
        )
        print(f"| {comes:g} | {kg:g} | {len(all_s)} | {len(some_s)} | {told} |", flush=True)
        if comes == 1.0:
            print(
                *(f"{o} {g}: {s}" for (o, g), s in zip(every, all_s, strict=True) if s is not None), sep="; "
            )


if __name__ == "__main__":
    main()
