"""Whether a board is off, as far as its line can tell: what answers has power from somewhere."""

from collections.abc import Callable

from kilnctl.clock import Clock
from kilnctl.config.oven import Oven
from kilnctl.config.places import Place
from kilnctl.errors import DeviceError, DeviceRefused

SILENT, PAUSE_S = 2, 0.3  # looks in a row without an answer, so far apart
RUNS_ON_S = 6.0  # a supply holds for a while when it is switched off


def still_answer(oven: Oven, read: Callable[[Place], float | DeviceError], clock: Clock) -> list[str]:
    """Return which devices that heat answer; a refusal is an answer too. A simulator has no supply."""
    outputs = oven.output.heater, oven.output.contactor
    places = [] if oven.simulated else [one.back or one for one in outputs if one]
    give_up_s, missed = clock.real_s() + RUNS_ON_S, {place.device: 0 for place in places}
    while left := [place for place in places if missed[place.device] < SILENT]:
        for place in left:
            raw = read(place)
            silent = isinstance(raw, DeviceError) and not isinstance(raw, DeviceRefused)
            missed[place.device] = missed[place.device] + 1 if silent else 0
        answering = {place.device for place in left if not missed[place.device]}
        if answering and clock.real_s() > give_up_s:  # a look that waits for a banner is a long one
            return sorted(answering)
        clock.pause(PAUSE_S)
    return []
