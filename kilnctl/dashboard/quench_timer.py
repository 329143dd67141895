"""The count from furnace to hand-warm: one big key, each stage timed, one word and seconds to read."""

from dataclasses import dataclass, field, replace

from kilnctl.link.snapshot import Snapshot

# medium of the plan: (stage, what ending it means) each. The first stage is always the way to the bath.
AFTER = (("clamp", "clamped"), ("hand-warm", "hand-warm"))
OIL = (("transfer", "in the oil"), ("oil", "out of the oil"), *AFTER)
WATER = (("transfer", "in the water"), ("water", "out of the water"), *AFTER)
PLATES = (("transfer", "between the plates"), ("hand-warm", "hand-warm"))
AIR = (("transfer", "in still air"), *AFTER)
BATH = (("transfer", "in the bath"), ("bath", "out of the bath"), *AFTER)
STAGES = {"fast oil": OIL, "medium oil": OIL, "water or brine": WATER, "plates": PLATES, "still air": AIR}
# What the plan calls the time of a stage.
TIMES = {"oil": "bath", "water": "bath", "hand-warm": "warm"}


@dataclass(frozen=True, slots=True)
class QuenchTimer:
    """Where the hands are. `began_s` is when this stage began, on the unscaled clock.

    `times_s` holds what the plan allows, `segment` is the quench that began the count.
    """

    began_s: float
    stages: tuple[tuple[str, str], ...] = BATH
    times_s: dict[str, float] = field(default_factory=dict)
    segment: int | None = None
    stage: int = 0

    @classmethod
    def begin(cls, s: Snapshot, now_s: float) -> "QuenchTimer":
        """Return the first stage of the quench that waits in a picture."""
        stages = STAGES.get(s.medium, BATH)
        steps = {view.step for view in s.segments}
        if "check" in steps and "clamp" not in steps:  # a full quench: nobody bends what comes out of it
            stages = tuple(stage for stage in stages if stage[0] != "clamp")
        return cls(now_s, stages, dict(s.hand_times_s), s.segment)

    @property
    def word(self) -> str:
        """The stage in a word."""
        return self.stages[self.stage][0]

    @property
    def mark(self) -> str:
        """What the next press of the key means."""
        return self.stages[self.stage][1]

    @property
    def following(self) -> str:
        """The stage after this one, empty after the last."""
        return self.stages[self.stage + 1][0] if self.stage + 1 < len(self.stages) else ""

    @property
    def allowed_s(self) -> float | None:
        """How long this stage is meant to take, None where nobody said."""
        return self.times_s.get(TIMES.get(self.word, self.word))

    def taken_s(self, now_s: float) -> float:
        """Return how long this stage has taken."""
        return max(0.0, now_s - self.began_s)

    def late(self, now_s: float) -> bool:
        """Return whether the part is still in the air although it should be in the bath."""
        return self.word == "transfer" and self.allowed_s is not None and self.taken_s(now_s) > self.allowed_s

    def next(self, now_s: float) -> "QuenchTimer | None":
        """Return the next stage, None after the last."""
        last = self.stage + 1 == len(self.stages)
        return None if last else replace(self, stage=self.stage + 1, began_s=now_s)

    def overtaken(self, s: Snapshot) -> bool:
        """Return whether another blade is ready to be quenched."""
        return s.waiting is not None and s.waiting.step == "quench" and s.segment != self.segment


def bells(before_s: float, after_s: float, allowed_s: float | None) -> int:
    """Return how often to sound between two looks: once a full second, three times when the time is up."""
    if allowed_s is not None and before_s < allowed_s <= after_s:
        return 3
    return 1 if int(after_s) > int(before_s) else 0
