"""A timer relay whose contact only a person sees: a lamp behind it, looked at twice, then by the cable."""

from kilnctl.commissioning.cable_pulled import LIT_S, cable_pulled
from kilnctl.commissioning.prompts import seconds, tell_finding
from kilnctl.commissioning.wizard import Result, Shop
from kilnctl.permits.dead_man_test import ARMED
from kilnctl.permits.setup_steps import SetupStep

NEVER_LIT = "a lamp that was not on as the silence began proves nothing: look at it, and do it again"
LAMP_TIMES, LAMP_AGAIN = 2, 2
LOOK_AT = (
    "Nothing on the wire sees this contact, so your eyes do: look at a lamp or meter that is wired behind "
    "the timer relay's contact, in the heater's place. The relay board's own light shows its coil, not that "
    "contact. Each question waits for you; a look that was missed is done again; q leaves, the heat off."
)


def by_lamp(shop: Shop, step: SetupStep) -> Result:
    """Nothing on the wire sees the timer relay drop: a person's lamp does, twice; then by the cable."""
    times_s: list[float] = []
    shop.person.say(f"  {LOOK_AT}")
    again = LAMP_AGAIN
    while len(times_s) < LAMP_TIMES:
        shop.tell("heat on, then silence: half a minute at most; look at the lamp")
        starved = shop.drill("starved", step)
        tell_finding(shop, starved)
        if not starved.passed:
            return Result(False, note=starved.line)
        if not shop.person.key("Did the lamp come on, and go out by itself before the last line?"):
            again -= 1
            if again >= 0 and shop.person.key("Was nobody looking at it? The heat is off. Do it again?"):
                continue
            said = f"the lamp did not come on and go out by itself: NO dead-man, no live heat{ARMED}"
            shop.person.say(f"  WRONG {said}")
            return Result(False, note=said)
        held_s = seconds(shop, 'How long did the lamp stay on after the silence began ("5 s")? ')
        if held_s < LIT_S:
            shop.person.say(f"  WRONG {NEVER_LIT}")
            return Result(False, note=NEVER_LIT)
        times_s.append(held_s)
    pulled_s, why = cable_pulled(shop, step)
    if why or pulled_s is None:
        return Result(False, pulled_s, why)
    times_s.append(pulled_s)
    back = shop.drill("bus", step)
    tell_finding(shop, back)
    data = {"program silent, s": max(times_s[:-1]), "cable pulled, s": times_s[-1]}
    said = "the lamp went out by itself, seen by a person; attended runs only"
    return Result(back.passed and step.accepts(max(times_s)), max(times_s), said, data)
