"""How long a contactor's switching window may be: as long as the ripple allows, so that it closes seldom."""

from kilnctl.control.coast import Outlook
from kilnctl.model.oven import advance

# Half the ripple at the sensor that is bearable in a soak, in K.
_RIPPLE_K = 0.6
# A minute and a half closes a contactor 40 times an hour, and half as often again where the duty moves.
_WINDOWS_S = (90.0, 75.0, 60.0)
_PIECES = 30


def longest_window_s(outlook: Outlook, duty: float, window_s: float) -> float:
    """Return the longest window whose ripple is bearable; at least `window_s`, the oven file's own."""
    if not 0.01 < duty < 0.99:
        return window_s
    for longer_s in _WINDOWS_S:
        if longer_s > window_s and ripple_k(outlook, duty, longer_s) <= _RIPPLE_K:
            return longer_s
    return window_s


def ripple_k(outlook: Outlook, duty: float, window_s: float) -> float:
    """Return half of what the sensor swings when the duty is given in one pulse a window, by the model."""
    model, ambient_c = outlook.model, outlook.ambient_c
    even = pulsed = outlook.state
    step_s, off_k = window_s / _PIECES, []
    for i in range(3 * _PIECES):
        on = (i % _PIECES) < duty * _PIECES
        even = advance(model, even, duty, ambient_c, step_s)
        pulsed = advance(model, pulsed, float(on), ambient_c, step_s)
        if i >= 2 * _PIECES:
            off_k.append(pulsed.junction_c - even.junction_c)
    return (max(off_k) - min(off_k)) / 2
