"""How well a wire works: what came back lately, and when the last whole answer came."""

from collections import deque
from collections.abc import Iterable

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
