"""A board that answers has power, whatever was said."""

from kilnctl.clock import VirtualClock
from kilnctl.config.home import bundled
from kilnctl.config.oven import load_oven
from kilnctl.devices.probing.supply_off import RUNS_ON_S, still_answer
from kilnctl.errors import DeviceRefused, NoReply

OVEN = load_oven(bundled("ovens") / "tempering-oven.toml").model_copy(update={"simulated": False})


class Waits(VirtualClock):
    def pause(self, for_s: float) -> None:
        self.advance(for_s)


def test_one_that_answers_to_the_end_is_named_and_one_that_runs_on_for_a_while_is_not() -> None:
    clock = Waits()
    assert still_answer(OVEN, lambda _place: 0.0, clock)
    assert still_answer(OVEN, lambda _place: DeviceRefused("busy"), clock)
    assert not still_answer(OVEN, lambda _place: NoReply("off"), clock)
    off_s = clock.real_s() + RUNS_ON_S / 2
    assert not still_answer(OVEN, lambda _place: NoReply("off") if clock.real_s() > off_s else 0.0, clock)
