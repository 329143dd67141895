"""A sensor that slides out slowly in a soak, with nobody at the oven: how long and how far it is heated on.

    nice -n 19 python -m tests.bench.control.judges.slips --kept kept [--unlearned] [--seeds 108]

On the ovens that the table has learned into the folder, by the real board, runner, control and interlocks.
From a while after the goal was reached the sensor sees ever less of what the oven is warmer than the room,
until it hangs there half out (or with less, and quicker). A row says after how many seconds what stopped
the heat, and how far above its goal the place of the sensor was at most. Common practice, no single source:
a couple that nobody has clamped is pushed or pulled by its own lead.
"""

import argparse
import json
from pathlib import Path

from kilnctl.model.oven_model import OvenModel
from simulator.boards.board import Board
from tests.bench.control.judges.driver import file_for, run
from tests.bench.control.judges.jobs import can_reach, job
from tests.bench.control.judges.oven import JudgeOven, Module

# Share that it sees in the end, over how many seconds, how long after the goal was reached.
SLIPS = [(0.55, 600.0, 300.0), (0.55, 600.0, 1500.0), (0.7, 120.0, 300.0), (0.3, 1800.0, 300.0)]
SOAK_S, NEAR_K = 6000.0, 3.0


class SlidesOut(Module):
    """A sensor that slides out evenly: it follows what it still sees."""

    def __init__(self, inside: Module, share: float, over_s: float, room_c: float) -> None:
        super().__init__(inside.kind, inside.seed, inside.shown_c)
        self._share, self._over_s, self._room_c, self._at_s = share, over_s, room_c, 0.0

    def see(self, true_c: float, dt_s: float) -> None:
        """Take what a sensor in its place would see, in degC."""
        self._at_s += dt_s
        sees = 1.0 - (1.0 - self._share) * min(self._at_s / self._over_s, 1.0)
        super().see(self._room_c + sees * (true_c - self._room_c), dt_s)


def slip(
    family: str, seed: int, goal: int, model: OvenModel | None, slid: tuple[float, float, float]
) -> tuple[float, float, str]:
    """Return seconds from the slip to the end of the heat, the most it was too hot (K), what ended it."""
    share, over_s, after_s = slid
    judge = JudgeOven(family, seed, f"slip {goal}")
    when: dict[str, float] = {}
    hottest = [0.0]

    def event(judge: JudgeOven, board: Board, at_s: float) -> str:
        if "hot" not in when and judge.true_c > goal - NEAR_K:
            when["hot"] = at_s
        if "hot" in when and "slip" not in when and at_s >= when["hot"] + after_s:
            when["slip"] = at_s
            judge.module = SlidesOut(judge.module, share, over_s, judge.ambient_c)
        if "slip" in when:
            hottest[0] = max(hottest[0], judge.true_c)
        return ""

    heat = run(judge, file_for(judge, door=False), job(goal, soak_s=SOAK_S), model, event)
    return heat.ticks[-1].at_s - when.get("slip", 0.0), hottest[0] - goal, heat.tripped


def main() -> None:
    """Print a line for each slip."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--kept", type=Path, required=True)
    parser.add_argument("--seeds", default="", help="of these ovens only, like 108")
    parser.add_argument("--families", default="", help="of these only, like muffle,two-zones")
    parser.add_argument("--unlearned", action="store_true")
    asked = parser.parse_args()
    only = asked.families.split(",") if asked.families else []
    for path in sorted(asked.kept.glob("*-*.json")):
        family, _, seed = path.stem.rpartition("-")
        if not seed.isdigit() or (asked.seeds and seed != asked.seeds) or (only and family not in only):
            continue
        told = json.loads(path.read_text())
        if "element" not in told:
            continue
        model = None if asked.unlearned else OvenModel.from_dict(told)
        for goal in can_reach(family, int(seed)):
            for slid in SLIPS:
                after_s, over_k, why = slip(family, int(seed), goal, model, slid)
                print(
                    f"{path.stem} {goal} {slid} {after_s:.0f} s {over_k:+.0f} K {why or 'NO TRIP'}",
                    flush=True,
                )


if __name__ == "__main__":
    main()
