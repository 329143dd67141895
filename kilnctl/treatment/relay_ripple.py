"""What a relay's window does to a soak: said before the heat, with the window that would do."""

from kilnctl.config.oven import Oven, Switching
from kilnctl.model.oven_model import OvenModel
from kilnctl.model.ripple import in_soaks, swing_k
from kilnctl.profile.segments import Profile, Soak
from kilnctl.treatment.plan_checks import Warn
from kilnctl.units import say_point

# Half a swing of so much is an RMS of half a kelvin (a triangle's is half its swing over the root of three).
BEARABLE_K = 0.87
WINDOWS_S = (120.0, 90.0, 60.0, 45.0, 30.0, 25.0, 20.0, 15.0, 12.0, 10.0, 8.0, 6.0, 5.0, 4.0, 3.0, 2.0)
WALKED, LONGEST_S = 12, 600.0
# Nearer to none or to all of the heat there are no pulses to speak of.
LEAST = 0.02


def ripple_warnings(profile: Profile, oven: Oven, model: OvenModel) -> tuple[Warn, ...]:
    """Return what a learned oven's sensor swings with its relay in the soak where it swings most, if much.

    Only of a learned oven: a nameplate knows too little of how quick an oven is.
    """
    soaks = {s.at_c: n for n, s in reversed(list(enumerate(profile.segments))) if isinstance(s, Soak)}
    if not model.learned or not soaks:
        return ()
    swings = {at_c: _swing_k(oven, model, at_c, oven.switching) for at_c in soaks}
    at_c = max(swings, key=lambda c: swings[c])
    if swings[at_c] <= BEARABLE_K:
        return ()
    return (Warn(_says(oven, model, at_c, swings[at_c]), soaks[at_c]),)


def _swing_k(oven: Oven, model: OvenModel, at_c: float, switching: Switching) -> float:
    """Return half of the swing in a soak, with the window that the least times on and off leave."""
    pulsed = [(s, d) for s, d in in_soaks(model, at_c, oven.ambient_c) if LEAST < d < 1.0 - LEAST]
    swings = [
        swing_k(model, state, oven.ambient_c, duty, _made_s(duty, switching), WALKED)
        for state, duty in pulsed
    ]
    return max(swings, default=0.0)


def _made_s(duty: float, switching: Switching) -> float:
    """Return how long a window really is: longer where the least time on or off asks for it."""
    least_s = max(switching.min_on_s / duty, switching.min_off_s / (1.0 - duty))
    return min(max(switching.window_s, least_s), LONGEST_S)


def _says(oven: Oven, model: OvenModel, at_c: float, half_k: float) -> str:
    said = f"at {say_point(at_c)} the sensor swings by ± {half_k:.1f} K with its relay"
    window_s, now_s = _bearable_s(oven, model, at_c), oven.switching.window_s
    if window_s is None:
        return f"{said} (window {now_s:g} s); a solid-state relay, switched every few seconds, ends it"
    shorter = f'{said}; window = "{window_s:g} s" in the oven file (now {now_s:g} s) keeps it within 0.9 K'
    if oven.switching.kind != "contactor":
        return shorter
    often = 3600.0 / window_s
    return f"{shorter}; a contactor closes {often:.0f} times an hour then and wears, a solid-state relay not"


def _bearable_s(oven: Oven, model: OvenModel, at_c: float) -> float | None:
    """Return the longest window that keeps the swing bearable, None where the least times forbid it."""
    switching = oven.switching
    least_s = max(switching.min_on_s, switching.min_off_s)
    for window_s in (s for s in WINDOWS_S if least_s <= s < switching.window_s):
        tried = switching.model_copy(update={"window_s": window_s})
        if _swing_k(oven, model, at_c, tried) <= BEARABLE_K:
            return window_s
    return None
