"""What cuts the elements when a person opens an oven, said at each step where it is opened.

Tongs that touch a live element can kill. A relay that is off may leak, as solid-state ones do, or be welded:
only a door switch that opens a contactor, or the isolator, makes the elements dead.
"""

from kilnctl.config.oven import Oven
from kilnctl.profile.segments import Operator, Profile

_OPENED = ("load", "unload", "quench", "air cool", "crack door")
_ANSWER = " Answer done"


def live_elements(oven: Oven) -> str:
    """Return what is to be done before the oven is opened; empty where door and contactor see to it."""
    if oven.door_isolates:
        return ""
    if oven.signal.door_open is None:
        return (
            f"The elements are LIVE, and tongs that touch one can kill: no door switch cuts them. Switch off "
            f"at {oven.isolator} before you open, on again when it is shut."
        )
    return "Keep tongs off the elements: a relay that is off may leak or be stuck, and no contactor cuts it."


def told_of_live_elements(profile: Profile, oven: Oven) -> Profile:
    """Return a profile whose steps at an open oven say what makes its elements dead."""
    words = live_elements(oven)
    if not words:
        return profile
    segments = tuple(
        _told(s, words) if isinstance(s, Operator) and opens_the_oven(s) and words not in s.say else s
        for s in profile.segments
    )
    return profile.model_copy(update={"segments": segments})


def opens_the_oven(step: Operator) -> bool:
    """True for a step with a hand in the oven; one that holds a heat until a person is done has that too."""
    return step.step in _OPENED or (step.step == "confirm" and step.hold_c is not None)


def _told(step: Operator, words: str) -> Operator:
    """Return a step with the words before its last sentence, the one that asks for the answer."""
    said, answer, rest = step.say.rpartition(_ANSWER)
    return step.model_copy(
        update={"say": f"{said} {words}{answer}{rest}" if answer else f"{step.say} {words}"}
    )
