"""The count from furnace to clamp: one big key, each stage timed, one word and seconds to read."""

from dataclasses import dataclass, replace

STAGES = ("transfer", "oil", "clamp", "hand-warm")
MARKS = ("in the oil", "out of the oil", "clamped", "hand-warm")
# Common practice, no single source: a fast oil takes a thin edge past the nose in about seven seconds.
OIL_S = 7.0


@dataclass(frozen=True, slots=True)
class Hands:
    """Where the hands are. `began_s` is when this stage began, on the unscaled clock."""

    began_s: float
    stage: int = 0
    transfer_s: float | None = None
    oil_s: float = OIL_S

    @property
    def word(self) -> str:
        """The stage in a word."""
        return STAGES[self.stage]

    @property
    def mark(self) -> str:
        """What the next press of the key means."""
        return MARKS[self.stage]

    @property
    def allowed_s(self) -> float | None:
        """How long this stage is meant to take, None where nobody said."""
        return {"transfer": self.transfer_s, "oil": self.oil_s}.get(self.word)

    def taken_s(self, now_s: float) -> float:
        """Return how long this stage has taken."""
        return max(0.0, now_s - self.began_s)

    def late(self, now_s: float) -> bool:
        """Return whether the part is still in the air although it should be in the oil."""
        return (
            self.transfer_s is not None and self.word == "transfer" and self.taken_s(now_s) > self.transfer_s
        )

    def next(self, now_s: float) -> "Hands | None":
        """Return the next stage, None after the last."""
        last = self.stage + 1 == len(STAGES)
        return None if last else replace(self, stage=self.stage + 1, began_s=now_s)


def bells(before_s: float, after_s: float, allowed_s: float | None) -> int:
    """Return how often to sound between two looks: once a full second, three times when the time is up."""
    if allowed_s is not None and before_s < allowed_s <= after_s:
        return 3
    return 1 if int(after_s) > int(before_s) else 0
