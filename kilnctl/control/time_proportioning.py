"""From duty to relay: time proportioning that respects the relay and loses no heat to rounding."""

from kilnctl.config.oven import Switching
from kilnctl.model.soft_start import given
from kilnctl.values import value

# So much of a second is forgiven in each second: one given ahead while no heat is asked, and one that a soft
# start held back while full heat is. Who asks has seen what flowed. A light oven that owes three seconds
# would wait a minute and a half for its first pulse; what was held back half an hour ago kept full heat on
# for forty seconds where 0.8 was asked.
_FORGIVEN = 0.1
_HOUR_S = 3600.0


@value
class SwitchState:
    """Where the relay stands.

    `owed_s` is the heat asked for and not yet given, in seconds of full heat (negative: given ahead);
    `since_s` the time since the relay last moved; `closures` counts every off to on; `per_hour` is the
    rate of closures, smoothed over about half an hour.
    """

    on: bool = False
    owed_s: float = 0.0
    since_s: float = 1e9
    closures: int = 0
    per_hour: float = 0.0


@value
class SwitchTimes:
    """How the heater may be switched, as plain numbers for the tick: see `Switching`."""

    window_s: float
    min_on_s: float
    min_off_s: float


def times_of(switching: Switching) -> SwitchTimes:
    """Return the times of an oven file."""
    return SwitchTimes(switching.window_s, switching.min_on_s, switching.min_off_s)


def advance_switch(
    times: SwitchTimes,
    state: SwitchState,
    duty: float,
    dt_s: float,
    window_s: float | None = None,
    soft_s: float = 0.0,
) -> tuple[SwitchState, bool]:
    """Return the relay's new state and whether it is on for the coming dt_s seconds.

    The relay moves when the heat owed has grown to half a swing, and back when it has been given half a
    swing ahead; the swing is such that on plus off time make one window, longer where the least on or off
    time asks for it. A duty of zero, or one that is no number, is off at once, whatever the least on time
    says. `window_s` overrides the oven file's window.
    """
    closed = state.on
    duty = duty if duty > 0.0 else 0.0  # not max(): that lets a NaN through, and a relay that is on stays on
    least_on_s, least_off_s = times.min_on_s, times.min_off_s
    share = duty if duty < 1.0 else 1.0
    rest = 1.0 - share
    # Compared by hand, here and below: six calls of min() and max() took a thirtieth of a tick.
    swing_s = (window_s or times.window_s) * share * rest
    most_s = least_on_s * rest
    swing_s = most_s if most_s > swing_s else swing_s
    most_s = least_off_s * share
    half_s = (most_s if most_s > swing_s else swing_s) / 2.0
    if duty <= 0.0:
        on = False
    elif duty >= 1.0:
        on = closed or state.since_s >= least_off_s
    elif closed:
        on = state.owed_s > -half_s or state.since_s < least_on_s
    else:
        # Half a tick early here and not there: whole ticks then make the window, neither shorter nor longer.
        due = state.owed_s + duty * dt_s / 2.0 >= half_s
        on = due and state.since_s >= least_off_s
    moved = on is not closed
    closes = on and moved
    smooth = dt_s / (_HOUR_S / 2.0)
    # No older debts: what the least on time gave ahead on the way would be taken from a hold for minutes.
    least_s = least_off_s if least_off_s > least_on_s else least_on_s
    limit_s = half_s + (dt_s if dt_s > least_s else least_s) + soft_s / 2.0
    gives = given(0.0 if moved else state.since_s, dt_s, soft_s) if on and soft_s else 1.0 if on else 0.0
    owed_s = state.owed_s + (duty - gives) * dt_s
    owed_s = -limit_s if owed_s < -limit_s else limit_s if owed_s > limit_s else owed_s
    if duty == 0.0 and owed_s < 0.0:
        owed_s = min(owed_s + _FORGIVEN * dt_s, 0.0)
    elif soft_s and duty >= 1.0 and owed_s > 0.0:
        owed_s = max(owed_s - _FORGIVEN * dt_s, 0.0)
    since_s = dt_s if moved else state.since_s + dt_s
    per_hour = state.per_hour * (1.0 - (smooth if smooth < 1.0 else 1.0)) + (2.0 if closes else 0.0)
    return SwitchState(on, owed_s, since_s, state.closures + closes, per_hour), on
