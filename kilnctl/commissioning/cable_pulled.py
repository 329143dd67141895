"""The data cable pulled with the heat on: a person counts, and the seconds count only if it stayed out."""

from kilnctl.commissioning.drills.drills import light_of
from kilnctl.commissioning.operator import ready
from kilnctl.commissioning.prompts import seconds
from kilnctl.commissioning.wizard import Shop
from kilnctl.config.abilities import DEAD_MAN_S
from kilnctl.permits.dead_man_test import LATE_LOOK_S, Finding
from kilnctl.permits.setup_steps import SetupStep

SHORT_S = 2.0  # an answer that was lost with the cable in is no cable out
PROVES_NOTHING = (
    "{}. {}that proves no dead-man. Do it again, and leave the cable out until you are asked to plug it in"
)
LIT_S = 0.5  # a person who counts less has seen no lamp that was on
DARK = "The lamp was not on: if it was dark before, the heat was not on, and nothing is proved; "
LOST = "An answer was lost, or the cable was out for a moment, and off was sent then: "
LATE = "The light was still on, and off was sent then: "


AGAIN = 2  # times that a cable pulled too early, or a light that was missed, costs this part alone
ONCE_MORE = "The rest of this test stands. Is the cable in again, and do you do the cable part again now?"
NOT_IN = "the cable was not plugged in again"


def cable_pulled(shop: Shop, step: SetupStep) -> tuple[float | None, str]:
    """Return the seconds that a person counted, None for none, and why they prove nothing (empty if they do).

    A slip costs this part alone: it is done again a few times where the person wants to.
    """
    for left in reversed(range(AGAIN + 1)):
        pulled_s, why = _once(shop, step)
        if why in ("", NOT_IN) or not left or not shop.person.key(ONCE_MORE):
            break
    return pulled_s, why


def _once(shop: Shop, step: SetupStep) -> tuple[float | None, str]:
    light = light_of(shop.oven)
    shop.person.say(f"  Once more, and this time you pull the data cable while this is on: {light}.")
    held = shop.drill("hold", step)
    if held.value is None:  # the heat was not on, or something broke: there were no seconds to count
        return None, _nothing(shop, held, "The drill was ended: ")
    shop.person.say(f"  The light that counts is {light}.")
    pulled_s = seconds(shop, 'How long did it stay on after the cable was out ("8 s")? ')
    if not ready(shop.person, "Cable plugged in again?"):
        return pulled_s, NOT_IN
    if not (why := _why_nothing(held.value, pulled_s)):
        return pulled_s, ""
    return None if why == DARK else pulled_s, _nothing(shop, held, why)


def _nothing(shop: Shop, held: Finding, why: str) -> str:
    said = PROVES_NOTHING.format(held.line.rstrip("."), why)
    shop.person.say(f"  WRONG {said}")
    return said


def _why_nothing(silent_s: float, pulled_s: float) -> str:
    """Return why the seconds prove nothing, empty where they do: where the line was silent for all of them.

    Off is sent at the end of the drill, and as soon as the line answers; a lamp that goes out then proves
    nothing. A silence that lasted longer than any dead-man may take proves whatever was counted.
    """
    if silent_s == 0.0:
        return "Off was sent at the end: "
    if silent_s < SHORT_S:
        return LOST
    if pulled_s < LIT_S:
        return DARK
    return "" if pulled_s < silent_s - LATE_LOOK_S or silent_s > DEAD_MAN_S else LATE
