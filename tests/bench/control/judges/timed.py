"""Does a heat lie in the band of a plan whose oven was only timed, on ovens that the program has never seen?

An owner times a full heat-up by the clock (good to 5 %), reads the meter while it holds (7 %), and writes
both under [measured]. Then two heats on other days under a plain PI control. Looked at: every segment's end
beside the band that `plan` prints. Run it so:

    python -m tests.bench.control.judges.timed --families embedded,fan-duct --seeds 901,902
"""

import argparse
import random
from collections.abc import Iterator
from dataclasses import dataclass

from kilnctl.config.home import bundled
from kilnctl.config.oven import Measured, Oven, load_oven
from kilnctl.errors import ConfigError
from kilnctl.forecast.band import End, predict
from kilnctl.model.maker_constants import first_guess
from kilnctl.profile.segments import Profile
from tests.bench.control.judges.families.named import EVERY_FAMILY
from tests.bench.control.judges.oven import JudgeOven

STEP_S, LONGEST_S = 10.0, 100 * 3600.0
KP, TI_S, LEAD_K = 0.08, 400.0, 15.0
CLOCK, METER = 0.05, 0.07
BUILDS = ("brick", "fibre", "heavy", "leaky", "fan")


@dataclass(frozen=True)
class Job:
    """Up at a rate, held, and down with the heat off."""

    goal_c: float
    rate_c_per_h: float
    soak_s: float
    down_c: float

    def profile(self) -> Profile:
        """Return it as the program plans it."""
        steps = (
            {"kind": "ramp", "to": f"{self.goal_c} C", "rate": f"{self.rate_c_per_h} C/h"},
            {
                "kind": "soak",
                "at": f"{self.goal_c} C",
                "time": f"{self.soak_s:.0f} s",
                "clock": "oven",
                "band": "5 K",
            },
            {"kind": "cool", "to": f"{self.down_c} C"},
        )
        return Profile.model_validate({"name": "timed", "segment": steps})


SMALL = (Job(205.0, 400.0, 7200.0, 60.0), Job(180.0, 150.0, 3600.0, 60.0))
LARGE = (Job(810.0, 400.0, 900.0, 300.0), Job(640.0, 300.0, 3600.0, 200.0))


class Hand:
    """A plain PI control."""

    def __init__(self, oven: JudgeOven, duty: float = 0.0) -> None:
        self.oven, self._sum, self.at_s = oven, duty, 0.0

    def step(self, goal_c: float) -> float:
        """Hold for a step; return the duty."""
        error_k = goal_c - self.oven.true_c
        duty = KP * error_k + self._sum
        if 0.0 < duty < 1.0:
            self._sum += KP * error_k * STEP_S / TI_S
        duty = min(max(duty, 0.0), 1.0)
        self.oven.advance(duty, STEP_S)
        self.at_s += STEP_S
        return duty


def timed(family: str, seed: int) -> tuple[Oven, bool]:
    """Return the oven file of an owner with clock and meter. Raises ConfigError where it cannot be."""
    oven, dice = JudgeOven(family, seed), random.Random(f"{family}{seed}m")
    small = "tempering" in oven.build.file
    goal_c, ambient_c, takes_s = (200.0 if small else 800.0), oven.ambient_c, 0.0
    while oven.true_c < goal_c and takes_s < LONGEST_S:
        oven.advance(1.0, STEP_S)
        takes_s += STEP_S
    if takes_s > 24 * 3600.0:
        raise ConfigError(f"it does not come to {goal_c:.0f} C in a day: nobody heats with that")
    hand = Hand(oven, 0.3)
    duties = [hand.step(goal_c) for _ in range(1080)][-180:]
    watts = oven.build.power_w * sum(duties) / len(duties)
    measured = {
        "heats_from": f"{ambient_c:.0f} C",
        "heats_to": f"{goal_c:.0f} C",
        "takes": f"{takes_s * dice.uniform(1 - CLOCK, 1 + CLOCK) / 60:.0f} min",
        "holds_with": f"{watts * dice.uniform(1 - METER, 1 + METER):.0f} W",
    }
    base = load_oven(bundled("ovens") / f"{'tempering-oven' if small else 'hardening-furnace'}.toml")
    build = oven.build.build if oven.build.build in BUILDS else base.build
    change = {"power_w": oven.build.power_w, "build": build, "ambient_c": ambient_c}
    return base.model_copy(update={**change, "measured": Measured.model_validate(measured)}), small


def heat(family: str, seed: int, job: Job, day: str) -> tuple[float, list[float]]:
    """Return the room's temperature and when each segment of a heat was over, s."""
    oven = JudgeOven(family, seed, day)
    hand, ambient_c, set_c, ends = Hand(oven), oven.ambient_c, oven.true_c, []
    each_k = job.rate_c_per_h / 3600.0 * STEP_S
    while oven.true_c < job.goal_c - 1.0 and hand.at_s < LONGEST_S:
        set_c = min(job.goal_c, set_c + each_k, oven.true_c + LEAD_K + each_k)
        hand.step(set_c)
    ends.append(hand.at_s)
    while hand.at_s < ends[0] + job.soak_s:
        hand.step(job.goal_c)
    ends.append(hand.at_s)
    while oven.true_c > job.down_c and hand.at_s < LONGEST_S:
        oven.advance(0.0, STEP_S)
        hand.at_s += STEP_S
    return ambient_c, [*ends, hand.at_s]


def looks(family: str, seed: int) -> Iterator[tuple[list[bool], float]]:
    """Yield for each heat which ends lay in the band, and how wide it was, as a share of the heat."""
    oven, small = timed(family, seed)
    model = first_guess(oven)
    for n, job in enumerate(SMALL if small else LARGE):
        room_c, ends_s = heat(family, seed, job, f"heat{n}")
        bands = predict(job.profile(), model, oven.ambient_c, room_c).ends
        yield (
            [_holds(band, at_s) for band, at_s in zip(bands, ends_s, strict=True)],
            _width(bands[-1], ends_s[-1]),
        )


def _holds(band: End, at_s: float) -> bool:
    return band.early_s <= at_s and (band.late_s is None or at_s <= band.late_s)


def _width(band: End, whole_s: float) -> float:
    return float("inf") if band.late_s is None else (band.late_s - band.early_s) / whole_s


def main() -> None:
    """Print how many heats lay in their band, and how wide the bands were."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--families", default=",".join(EVERY_FAMILY))
    parser.add_argument("--seeds", default="901")
    args = parser.parse_args()
    inside, widths = [], []
    for family in args.families.split(","):
        for seed in map(int, args.seeds.split(",")):
            try:
                for held, width in looks(family, seed):
                    inside.append(held)
                    widths.append(width)
                    print(f"{family} {seed}: {held}, {width:.2f} of the heat", flush=True)
            except ConfigError as e:
                print(f"{family} {seed}: {e}")
    each = [sum(column) for column in zip(*inside, strict=True)]
    whole = sum(all(held) for held in inside)
    print(f"{len(inside)} heats; ends in the band {each}, all of a heat {whole}; ", end="")
    print(f"median width {sorted(widths)[len(widths) // 2]:.2f} of the heat")


if __name__ == "__main__":
    main()
