"""How well a wire works: what came back lately, and when the last whole answer came."""

import contextlib
from collections import deque
from collections.abc import Callable, Iterable

from kilnctl.config.oven import Oven
from kilnctl.config.places import Place
from kilnctl.devices.contact import switch
from kilnctl.devices.outputs import off_value, reads_as_written
from kilnctl.errors import DeviceError
from kilnctl.stages import LINK_ANSWERS, LINK_WINDOW_S

KEPT_S = 300.0  # two exchanges in a tick of five seconds make 120


class Health:
    """Counts the exchanges with one device. Times are unscaled seconds, handed in."""

    def __init__(self) -> None:
        self._kept: deque[tuple[float, bool]] = deque()
        self.misses_in_a_row = 0

    def note(self, good: bool, real_s: float) -> None:
        """Count one exchange."""
        kept = self._kept
        kept.append((real_s, good))
        self.misses_in_a_row = 0 if good else self.misses_in_a_row + 1
        while kept[0][0] < real_s - (LINK_WINDOW_S if len(kept) > LINK_ANSWERS else KEPT_S):
            kept.popleft()

    def bad_and_all(self, real_s: float, window_s: float = LINK_WINDOW_S) -> tuple[int, int]:
        """Return how many exchanges of the last seconds failed, and how many there were."""
        since_s, bad, every = real_s - window_s, 0, 0
        for at_s, good in reversed(self._kept):
            if at_s < since_s:
                break
            bad, every = bad + (not good), every + 1
        return bad, every


def of_all(devices: Iterable[Health], real_s: float) -> tuple[int, int]:
    """Return bad and all exchanges with some devices: of 30 s, or as long as 120 of them take."""
    devices = tuple(devices)
    bad, every = _sums(devices, real_s, LINK_WINDOW_S)
    if not 0 < every < LINK_ANSWERS:
        return bad, every
    return _sums(devices, real_s, min(LINK_WINDOW_S * LINK_ANSWERS / every, KEPT_S))


def _sums(devices: tuple[Health, ...], real_s: float, window_s: float) -> tuple[int, int]:
    counted = [device.bad_and_all(real_s, window_s) for device in devices]
    return sum(bad for bad, _ in counted), sum(every for _, every in counted)


class StandBy:
    """Whether it `fell`. Off does not write its mode but where all is cut; so stand-by is its own doing."""

    def __init__(self, oven: Oven) -> None:
        self._applies, self._heater = oven.started_by_feeding, oven.output.heater
        self.fell = self._heating = False

    def driven(self, taken: bool) -> bool:
        """Take whether heat was taken, and return it: whatever fell before, it begins anew."""
        self.fell, self._heating = self.fell and not taken, self._heating or taken
        return taken

    def seen(self, on: bool | None) -> None:
        """Take one look at its mode."""
        self.fell |= self._applies and self._heating and on is False

    def before_cut(self, read: Callable[[Place], float]) -> None:
        """Look before an off that stops it too; one that is not heard is looked at later."""
        if self._applies and self._heating and self._heater.back is not None:
            with contextlib.suppress(DeviceError):
                self.seen(switch(self._heater.back, read(self._heater.back)))
                self._heating = False

    def parked(self, stands_by: bool, read: Callable[[Place], float]) -> bool:
        """Take the first off of a heat that only parks its set-point; return whether it reads off."""
        if self._applies and self._heating:
            self.fell |= stands_by
            point = off_value(self._heater)
            self._heating = not (stands_by or reads_as_written(self._heater, read(self._heater), point))
        return stands_by
