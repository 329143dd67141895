"""The data cable pulled with the lamp on: a person counts, and the seconds count only if it stayed out."""

from kilnctl.commissioning.prompts import seconds
from kilnctl.commissioning.wizard import Shop
from kilnctl.permits.dead_man_test import LATE_LOOK_S
from kilnctl.permits.setup_steps import SetupStep

SHORT_S = 2.0  # an answer that was lost with the cable in is no cable out
TOO_EARLY = (
    "{}. {}: that proves no dead-man. Do it again, and leave the cable out until you are asked to plug it in"
)
LOST = "An answer was lost, or the cable was out for a moment, and off was sent then"
LATE = "The lamp was still on, and off was sent then"


def cable_pulled(shop: Shop, step: SetupStep) -> tuple[float, str]:
    """Return the seconds that a person counted, and why they prove nothing (empty where they do)."""
    shop.person.say("  Once more, and this time you pull the data cable while the lamp is on.")
    held = shop.drill("hold", step)
    pulled_s = seconds(shop, 'How long did the lamp stay on after the cable was out ("8 s")? ')
    if not shop.person.key("Cable plugged in again?"):
        return pulled_s, "the cable was not plugged in again"
    out_s = None if held.passed else held.value  # known only where the line has answered again
    if out_s is None or (out_s >= SHORT_S and pulled_s < out_s - LATE_LOOK_S):
        return pulled_s, ""
    why = TOO_EARLY.format(held.line, LOST if out_s < SHORT_S else LATE)
    shop.person.say(f"  WRONG {why}")
    return pulled_s, why
