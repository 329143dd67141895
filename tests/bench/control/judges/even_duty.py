"""What a relay's window alone makes a judge's oven swing: the same heat, given evenly, one pulse a window.

    nice -n 19 python -m tests.bench.control.judges.even_duty --kept kept --ovens open-coil:92:829

The heat of a job with a contactor is followed to its soak. From there the heat that flowed, smoothed over
minutes, is given again in pulses of one length a window, whatever the sensor says. No control with such a
window swings by less; what is settled above it is control's own. The swing is taken about the mean of whole
windows, so that walls which still drink do not count. Looks are not counted: no rule is chosen by it.
"""

import argparse
import math
from pathlib import Path

from tests.bench.control.judges import jobs
from tests.bench.control.judges.driver import file_for, run
from tests.bench.control.judges.oven import JudgeOven
from tests.bench.control.judges.table import Folder

_SMOOTHED_S, _SETTLED_S, _SOAK_S = 300, 1200, 1800
_MEAN_WINDOWS = 2


def even_swing(gave: list[float], oven: JudgeOven, window_s: int) -> tuple[float, float]:
    """Return RMS and half of the swing in K of the last 20 minutes, the last half hour given evenly.

    `gave` is the heat (0..1) of each second of a heat; `oven` is the same oven, still cold.
    """
    first, courses, given_s = len(gave) - _SOAK_S, [], 0.0
    for at, flowed in enumerate(gave):
        place = (at - first) % window_s
        if place == 0:
            given_s = _mean(gave, at, _SMOOTHED_S) * window_s
        oven.step(flowed if at < first else min(max(given_s - place, 0.0), 1.0), 1.0)
        courses.append(oven.true_c)
    off_k = [
        courses[i] - _mean(courses, i, _MEAN_WINDOWS * window_s)
        for i in range(len(gave) - _SETTLED_S, len(gave))
    ]
    off_k = off_k[: -_MEAN_WINDOWS * window_s]
    return math.sqrt(sum(k * k for k in off_k) / len(off_k)), (max(off_k) - min(off_k)) / 2.0


def _mean(values: list[float], at: int, over: int) -> float:
    near = values[max(at - over // 2, 0) : at + over // 2]
    return sum(near) / len(near)


def main() -> None:
    """Print a line for each oven: what was settled under control, and what the window alone swings."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--kept", type=Path, required=True)
    parser.add_argument("--ovens", required=True, help="like open-coil:92:829,embedded:93:218")
    parser.add_argument("--windows", default="30")
    asked = parser.parse_args()
    folder = Folder(asked.kept)
    for told in asked.ovens.split(","):
        family, seed, goal = told.split(":")
        model = folder.model(family, int(seed))
        if isinstance(model, str):
            print(told, model, flush=True)
            continue
        oven = jobs.day(family, int(seed), int(goal))
        heat = run(oven, file_for(oven, contactor=True), jobs.job(float(goal)), model)
        row = jobs.figures(heat, float(goal), 1.0)
        gave = [float(t.heat_on) for t in heat.ticks]
        line = f"{told} over {row['over_k']:.2f} settled {row['settled_k']:.2f}"
        for window in asked.windows.split(","):
            rms_k, half_k = even_swing(gave, jobs.day(family, int(seed), int(goal)), int(window))
            line += f"; even, {window} s: RMS {rms_k:.2f}, half a swing {half_k:.2f}"
        print(line, flush=True)


if __name__ == "__main__":
    main()
