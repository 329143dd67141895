"""How far a sensor swings with its heater's relay: pulses against the same heat given evenly."""

from kilnctl.model.oven_model import OvenModel, OvenState, advance, at_rest, holding_duty

_PIECES = 30
# Before a soak is looked at its element comes to the heat that holds it.
_SETTLES_S, _SETTLE_STEPS = 180.0, 60
# Soaked walls, and walls that still drink in the first half hour.
_DRINK = (1.0, 1.5)


def swing_k(
    model: OvenModel, state: OvenState, ambient_c: float, duty: float, window_s: float, windows: int
) -> float:
    """Return half of what the sensor swings when the duty is given in one pulse a window, by the model.

    It is the last of so many windows; the first still move the mean.
    """
    even = pulsed = state
    step_s, off_k = window_s / _PIECES, []
    for i in range(windows * _PIECES):
        # The last piece of a pulse is a part of one. Whole ones gave a fiftieth more heat than the even duty,
        # and the drift by it passed for half a kelvin of swing.
        on = min(max(duty * _PIECES - i % _PIECES, 0.0), 1.0)
        even = advance(model, even, duty, ambient_c, step_s)
        pulsed = advance(model, pulsed, on, ambient_c, step_s)
        if i >= (windows - 1) * _PIECES:
            off_k.append(pulsed.junction_c - even.junction_c)
    return (max(off_k) - min(off_k)) / 2


def in_soaks(model: OvenModel, at_c: float, ambient_c: float) -> list[tuple[OvenState, float]]:
    """Return an oven in a soak with the duty that holds it: soaked through, and in its first half hour."""
    found = []
    for share in _DRINK:
        duty = min(share * holding_duty(model, at_c, ambient_c), 1.0)
        state = at_rest(at_c, ambient_c)
        for _ in range(_SETTLE_STEPS):
            state = advance(model, state, duty, ambient_c, _SETTLES_S / _SETTLE_STEPS)
        found.append((state, duty))
    return found
