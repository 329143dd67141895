"""What a person, or the computer, does in a rehearsed heat: "off@900", "clock@900:3600"."""

import random
from collections.abc import Sequence

from kilnctl.clock import VirtualClock
from kilnctl.errors import ProfileError
from kilnctl.heat.runner import Runner

# Shares of heats that are ended by hand, and in which the computer's clock is set.
BY_HAND, CLOCK_SET = 0.08, 0.04
# Summer time, back again, a week.
CLOCK_STEPS_S = (3600.0, -3600.0, 604800.0)


def draw_acts(spans: Sequence[tuple[float, float]], dice: random.Random) -> tuple[str, ...]:
    """Return the acts of a heat whose segments have these spans; mostly none."""
    drawn = dice.random()
    at_s = dice.uniform(0.0, spans[-1][1])
    if drawn < BY_HAND:
        return (f"off@{at_s:.0f}",)
    if drawn < BY_HAND + CLOCK_SET:
        return (f"clock@{at_s:.0f}:{dice.choice(CLOCK_STEPS_S):.0f}",)
    return ()


class Acts:
    """Does each act once, when its time has come. Raises ProfileError for one that it does not know."""

    def __init__(self, texts: Sequence[str]) -> None:
        self._to_come = sorted((_read(text) for text in texts), key=lambda act: act[1])

    def __call__(self, runner: Runner) -> None:
        """See one tick."""
        while self._to_come and runner.now.elapsed_s >= self._to_come[0][1]:
            word, _, value = self._to_come.pop(0)
            if word == "off":
                runner.off("off by hand (rehearsed)")
            else:
                assert isinstance(runner.heat.clock, VirtualClock)
                runner.heat.clock.set_wall(value)


def _read(text: str) -> tuple[str, float, float]:
    word, _, rest = text.partition("@")
    at, _, value = rest.partition(":")
    try:
        if word in ("off", "clock"):
            return word, float(at), float(value or 0.0)
    except ValueError:
        pass
    raise ProfileError(f'cannot read "{text}"; write it like "off@900" or "clock@900:3600"')
