"""Numbers told by a lamp at a board that rests after each off: what it refuses is no call."""

import re

import pytest

from kilnctl.clock import VirtualClock
from kilnctl.config import home
from kilnctl.config.oven import Switching, load_oven
from kilnctl.errors import RunRefused
from kilnctl.permits import presence


@pytest.fixture
def oven():
    return load_oven(home.bundled("ovens") / "tempering-oven.toml")


class RestingLamp:
    """A lamp of an invented board that rests after each off, and takes nothing before that is over."""

    def __init__(self, clock: VirtualClock, rest_s: float) -> None:
        self.clock, self.calls = clock, []
        self.rest_s, self.off_s, self.lit, self.refused = rest_s, -99.0, False, 0

    def sound(self, horn: bool, lamp: bool) -> str:
        now_s = self.clock.real_s()
        if lamp and not self.lit and now_s - self.off_s < self.rest_s:
            self.refused += 1
            return "board, ON 2: answered REST in place of DONE"
        self.off_s = now_s if self.lit and not lamp else self.off_s
        self.lit = lamp
        self.calls.append((now_s, horn, lamp))
        return ""

    def off(self) -> bool:
        return True

    def scan(self, at_s: float) -> None:
        pass

    def arm_for_calls(self) -> bool:
        return False

    def seen(self, which: int) -> str:
        """Count the calls after the last long one; the longer pause of two kinds parts the numbers."""
        ons = [at for at, *on in self.calls if on[which]]
        offs = [at for (at, *on), (_, *before) in zip(self.calls[1:], self.calls, strict=False)
                if before[which] and not on[which]]  # fmt: skip
        calls = list(zip(ons, offs, strict=True))
        calls = calls[max(i for i, (on, off) in enumerate(calls) if off - on > 1.0) + 1 :]
        pauses_s = [on - off for (on, _), (_, off) in zip(calls[1:], calls, strict=False)]
        digits = [1]
        for pause_s in pauses_s:
            digits += [0] if pause_s > 1.5 * min(pauses_s) else []
            digits[-1] += 1
        return "".join(map(str, digits))


def test_a_call_that_the_board_refuses_is_no_call(oven) -> None:
    """REST was taken for DONE, and whoever counted what lit was told that nothing feeds the dead-man."""
    clock, said = VirtualClock(), []
    lamp = RestingLamp(clock, 2.0)
    presence.prove(oven, lamp, clock, lambda _: lamp.seen(1), code="214", say=said.append)
    assert lamp.refused
    assert any("REST" in line and "slower" in line for line in said)
    assert not lamp.lit


def test_a_rest_that_the_file_tells_is_kept_from_the_first_call_on(oven) -> None:
    clock, said = VirtualClock(), []
    lamp, slow = RestingLamp(clock, 2.0), Switching(kind="solid-state", min_off="2 s")
    presence.prove(
        oven.model_copy(update={"switching": slow}), lamp, clock, lambda _: lamp.seen(1),
        code="214", say=said.append,
    )  # fmt: skip
    assert not lamp.refused
    seen_s = clock.real_s()
    assert float(re.search(r"(\d+) s at most", said[0])[1]) >= seen_s


def test_an_output_that_cannot_follow_is_no_lamp(oven) -> None:
    clock = VirtualClock()
    lamp = RestingLamp(clock, 9.0)
    with pytest.raises(RunRefused, match=r"cannot be the lamp.*REST.*another output"):
        presence.prove(oven, lamp, clock, lambda _: pytest.fail("asked for what was not shown"), code="214")
    assert not lamp.lit
