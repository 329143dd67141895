"""When to temper after a quench: one rule for cards, choices, figures and plans (common practice).

Sheets of tool steel say 50 to 65 degC: the martensite is nearly finished, the part not yet cold. A strip
maker lets stainless strip cool to room temperature; a card that says so goes by that.
"""

from kilnctl.treatment.steel.steels import Steel

_SOON = "temper within the hour, as soon as it is {}, in any case before it stands overnight"
_HAND_WARM, _HAND_WARM_C = "hand-warm", "50-65 °C (122-149 °F)"
_COLD = "at room temperature"


def temper_soon(steel: Steel | None = None) -> str:
    """Return when to temper a steel after its quench; without one, what holds for all of them."""
    warm = f"{_HAND_WARM}, {_HAND_WARM_C}"
    if steel is None:
        warm += f", or {_COLD} where its card says so"
    elif _wants_cold(steel):
        warm = _COLD
    return f"{_SOON.format(warm)} (common practice)"


def temper_soon_in_short(steel: Steel | None = None) -> str:
    """Return the same for one line of an answer."""
    cold = steel is not None and _wants_cold(steel)
    return f"within the hour, {_COLD if cold else f'{_HAND_WARM}: {_HAND_WARM_C}'}, never overnight"


def _wants_cold(steel: Steel) -> bool:
    return any("room temperature" in caution.say for caution in steel.caution)
