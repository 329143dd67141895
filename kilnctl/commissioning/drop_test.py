"""The drop test: safety contactor or independent limit, relay, emergency stop, each with the heat held."""

from kilnctl.commissioning.operator import ready
from kilnctl.commissioning.prompts import all_yes, note, tell_finding
from kilnctl.commissioning.wizard import Result, Shop
from kilnctl.permits.setup_steps import SetupStep

METER = (
    "Mains voltage will stand at the heater's terminals. Only who is trained for it measures there, else a "
    "licensed electrician: clip the meter on with the isolator off and proved dead, close the cover, touch "
    "nothing. A clamp meter round the heater's lead shows the same by its current."
)
METER_ON = "Meter on the heater, cover closed, oven empty and shut, you beside it?"
ON_AGAIN = "Isolator on, emergency stop released, independent limit reset?"
NO_METER = "not tested: without a meter on the heater nothing shows that it goes dead"
NOT_ON = "not tested: something that was to be on again was off"
SHOWED = "Did the meter show mains voltage (a clamp: current) while the heat was held?"
SHOWED_NOTHING = (
    "a meter that shows nothing with the heat on proves nothing when it is off: look where it is clipped on, "
    "and whether the isolator is on"
)
CONTACTOR_QUESTION = (
    "Safety contactor dropped while the relay was held: heater terminals dead on the meter then?"
)
RELAY_QUESTION = "Relay dropped while the safety contactor was held: heater terminals dead on the meter then?"
# A board that refuses heat with its contactor off cannot hold the relay alone.
REFUSED_QUESTION = (
    "Safety contactor seen dropped now, by its own flag or lamp, and heater terminals dead on the meter?"
)
BY_THE_LIMIT = (
    "So the independent limit is opened instead, with the heat held: that it cuts proves the second device "
    "in series; the contactor's own contacts too where the limit drops that contactor."
)
# Where the file has no contactor, the second device in series is the independent limit's.
LIMIT_QUESTION = "Independent limit opened while the relay was held: heater terminals dead on the meter then?"
BY_LIMIT = ("limit_opened", (SHOWED, LIMIT_QUESTION))
RELAY_ALONE_QUESTION = "Relay dropped while the limit was closed: heater terminals dead on the meter then?"
STOP_FITTED = "Is an emergency stop fitted (n: none)?"
# A supply switch that is readily reached may be the emergency stop (IEC 60204-1, 10.7.4; from memory).
NO_STOP = (
    "Then the isolator must serve as one, reached from where you stand; with neither, no heat may come on."
)
YOU_PRESS = "So in the next drill you press the emergency stop while the relay is held (n asks again)?"
YOU_SWITCH_OFF = (
    "So in the next drill you switch off while the relay is held, as there is none: {} (n asks again)?"
)
ISOLATOR_STOPS = (
    "{}, reached without reaching past the oven, off while the relay was held: heater terminals dead then?"
)
STOP_QUESTION = "Emergency stop pressed while the relay was held: heater terminals dead on the meter then?"
NOT_DEAD = (
    "the element must go dead by each of the two alone, and by the emergency stop: isolate, have the wiring "
    "mended, then do this step again"
)


def drop_test(shop: Shop, step: SetupStep) -> Result:
    """Hold each part while a meter looks; a part that was not really held has proved nothing."""
    shop.person.say(f"  {METER}")
    if not ready(shop.person, METER_ON):
        return _failed(shop, NO_METER, {})
    data: dict[str, bool] = {}
    parts = list(_parts(shop))
    while parts:
        drill, asked = parts.pop(0)
        if not ready(shop.person, ON_AGAIN):
            return _failed(shop, NOT_ON, data)
        questions = asked or _of_the_stop(shop)
        found = shop.drill(drill, step)
        tell_finding(shop, found)
        if not found.passed:
            return Result(False, note=found.line, data=dict(data))
        if found.nothing_to_cut:
            shop.person.say(f"  {BY_THE_LIMIT}")
            questions, parts = (REFUSED_QUESTION,), [BY_LIMIT, *parts]
        passed, answered = all_yes(shop, questions)
        data |= {f"{drill}: {one}" if one == SHOWED else one: yes for one, yes in answered.items()}
        if not passed:
            return _failed(shop, SHOWED_NOTHING if answered.get(SHOWED) is False else NOT_DEAD, data)
    return Result(True, note=note(shop), data=dict(data))


def _parts(shop: Shop) -> tuple[tuple[str, tuple[str, ...]], ...]:
    """Return the drills of this oven, each with what is asked after it."""
    stop: tuple[str, tuple[str, ...]] = ("stop_button", ())
    if shop.oven.output.contactor is not None:
        own = ("contactor_dropped", (CONTACTOR_QUESTION,))
        return own, ("relay_dropped", (RELAY_QUESTION,)), stop
    return BY_LIMIT, ("relay_dropped", (RELAY_ALONE_QUESTION,)), stop


def _of_the_stop(shop: Shop) -> tuple[str, ...]:
    """Ask how the heat is stopped by hand; a slip there is asked again, before it costs a drill."""
    while True:
        fitted = shop.person.key(STOP_FITTED)
        if not fitted:
            shop.person.say(f"  {NO_STOP}")
        if shop.person.key(YOU_PRESS if fitted else YOU_SWITCH_OFF.format(shop.oven.isolator)):
            return SHOWED, STOP_QUESTION if fitted else ISOLATOR_STOPS.format(shop.oven.isolator)


def _failed(shop: Shop, why: str, data: dict[str, bool]) -> Result:
    shop.person.say(f"  WRONG {why}")
    return Result(False, note=why, data=dict(data))
