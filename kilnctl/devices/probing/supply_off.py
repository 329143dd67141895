"""Whether a board is off, as far as its line can tell: what answers has power from somewhere."""

from collections.abc import Callable, Sequence

from kilnctl.clock import Clock
from kilnctl.config.places import Place
from kilnctl.errors import DeviceError, DeviceRefused

SILENT, PAUSE_S = 3, 0.3  # looks in a row without an answer, so far apart
RUNS_ON_S = 6.0  # a supply holds for a while when it is switched off


def still_answer(
    places: Sequence[Place], read: Callable[[Place], float | DeviceError], clock: Clock
) -> list[str]:
    """Return which devices answer though their supply was said to be off; a refusal is an answer too."""
    give_up_s, missed = clock.real_s() + RUNS_ON_S, {place.device: 0 for place in places}
    while left := [place for place in places if missed[place.device] < SILENT]:
        for place in left:
            raw = read(place)
            silent = isinstance(raw, DeviceError) and not isinstance(raw, DeviceRefused)
            missed[place.device] = missed[place.device] + 1 if silent else 0
        if clock.real_s() > give_up_s:
            return sorted({place.device for place in left})
        clock.pause(PAUSE_S)
    return []
