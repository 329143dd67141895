"""The set-up steps at the oven: what this program does itself, what it asks, and what is stored."""

from collections.abc import Callable
from dataclasses import replace

from kilnctl.care.boiling import boils_here
from kilnctl.commissioning import bus_check as wires
from kilnctl.commissioning import checklists as paper
from kilnctl.commissioning import drop_test, earth, independent_limit
from kilnctl.commissioning.cable_pulled import cable_pulled
from kilnctl.commissioning.couple_in_boiling_water import likelier
from kilnctl.commissioning.drills.drill_rig import ISOLATED_RISE_K, NOT_ISOLATED
from kilnctl.commissioning.metered_pulse import by_meter
from kilnctl.commissioning.operator import ready
from kilnctl.commissioning.prompts import all_yes, note, point_c, tell_finding, until_read
from kilnctl.commissioning.timer_by_lamp import by_lamp
from kilnctl.commissioning.wizard import Doing, Result, Shop
from kilnctl.config.abilities import DEAD_MAN_S
from kilnctl.devices.probing.diagnoses import Diagnosis
from kilnctl.devices.probing.probe import Probe
from kilnctl.errors import RunRefused, sentence
from kilnctl.permits import step_results
from kilnctl.permits.dead_man_test import Finding
from kilnctl.permits.setup_steps import SetupStep
from kilnctl.units import DAY_S

LATELY_S = 7 * DAY_S
# Each look from the wire makes such a board drop, so that only the lamp of a person shows it.
ONLY_WHEN_ASKED = (
    "the lamp stayed on in the silence, though each reading found the output off: this board drops it "
    "only when asked. NO dead-man against a lost link: no live heat"
)
TOO_LONG = (
    "{:.1f} s, and {:.0f} s pass, read to half a second: set the board's time shorter (a smaller number to "
    "write), by a second where its answers are slow"
)
OTHER_TYPE = (
    "sensor, module and file must be of one type. In a cold oven every type reads right; hot, a wrong one is "
    "hundreds of degrees wrong: set the module to the sensor's type, then write it as couple"
)


def caution(shop: Shop, _step: SetupStep) -> Result:
    """Show the caution and ask what no program can see."""
    shop.person.say(paper.before_anything())
    passed, data = all_yes(shop, paper.BEFORE_ANYTHING)
    if not passed:
        return Result(False, note="a question was answered with no", data=data)
    if (set_c := independent_limit.limit_setting(shop)) is None:
        return Result(False, note=independent_limit.STAYS, data=data)
    machine = shop.person.ask("Which machine is it (maker, type, number), on which supply and fuse? ")
    return Result(True, note=machine, data={**data, "limit set to, °C": set_c})


def oven_file(shop: Shop, step: SetupStep) -> Result:
    """Show the file's values one by one; each is confirmed with one key.

    Of a file that was changed lately only what reads otherwise than it was confirmed then, and the limit.
    """
    limit, *others = paper.values_of(shop.oven)
    known = _confirmed(shop, step)
    if kept := {one: True for one in others if one in known}:
        shop.person.say(f"  {len(kept)} values stand as you confirmed them; the limit, and what is new:")
    passed, data = all_yes(shop, (limit, *(one for one in others if one not in kept)))
    return Result(passed, data={**kept, **data})


def _confirmed(shop: Shop, step: SetupStep) -> set[str]:
    """Return what was confirmed of an earlier text of the oven file, lately and by all its questions."""
    last = step_results.results(shop.reader, shop.oven.name).get(step.name)
    if last is None or not last.passed or last.oven_hash == step_results.hash_of(shop.oven_text):
        return set()
    return set(last.data) if shop.now_s - last.utc_s < LATELY_S else set()


def bus_check(shop: Shop, step: SetupStep) -> Result:
    """Look at the wires, then send off and read it back."""
    if not shop.person.key("Heater isolated, its plug out or its isolator locked off?"):
        return Result(False, note="the heater was not isolated")
    bad = _bad(shop, lambda probe: wires.check_bus(probe, shop.person, shop.addresses))[1]
    if bad:
        return Result(False, note=" ".join(bad))
    off = shop.drill("bus", step)
    tell_finding(shop, off)
    return Result(off.passed, note=off.line)


def _bad(shop: Shop, ask: Callable[[Probe], list[Diagnosis]]) -> tuple[list[Diagnosis], list[str]]:
    """Look at the wires; return what was found, and what of it is wrong. An off ends it."""
    try:
        with shop.probing() as probe:
            found = ask(probe)
    except RunRefused as e:
        shop.person.say(f"  WRONG {e}")
        return [], [sentence(e)]
    return found, [f.say for f in found if not f.good]


def dead_man(shop: Shop, step: SetupStep) -> Result:
    """Measure the dead-man; then the person pulls the cable and says how long the lamp stayed on."""
    isolated = ready(
        shop.person,
        "A lamp or meter in place of the heater, or the heater isolated now (isolator off, plug out)?",
    )
    if not isolated:
        return Result(False, note="the heater was not isolated")
    if shop.oven.timers_witness or shop.oven.seen_by_timer:
        shop.tell("the timer is kept up with the heater's output off: a quarter of a minute")
        shows = shop.drill("fed", step)
        tell_finding(shop, shows)
        if not shows.passed:
            return Result(False, note=shows.line)
    before = shop.drill("reading", step).value
    result = _dropped(shop, step) if shop.oven.dead_man_seen else by_lamp(shop, step)
    after = shop.drill("reading", step).value
    if before is None or after is None or after - before < ISOLATED_RISE_K:
        return result
    said = NOT_ISOLATED.format(after - before)
    shop.person.say(f"  WRONG {said}")
    return replace(result, passed=False, note=said)


def _dropped(shop: Shop, step: SetupStep) -> Result:
    """Measure it three times: program silent, program killed, cable pulled."""
    shop.tell("heat on, then silence: half a minute at most")
    found = shop.drill("dead_man", step)
    tell_finding(shop, found)
    if not found.passed:
        return Result(False, found.value, found.line)
    killed = _killed(shop, step, found.any_traffic)
    tell_finding(shop, killed)
    if not killed.passed:
        return Result(False, killed.value, killed.line)
    pulled_s, why = cable_pulled(shop, step)
    if why or pulled_s is None:
        return Result(False, pulled_s, why)
    back = shop.drill("bus", step)
    tell_finding(shop, back)
    if not step.accepts(pulled_s):
        shop.person.say(f"  WRONG {ONLY_WHEN_ASKED}")
    longest_s = max(found.value or 0.0, killed.value or 0.0, pulled_s)
    if step.accepts(pulled_s) and not step.accepts(longest_s):
        shop.person.say(f"  WRONG {TOO_LONG.format(longest_s, DEAD_MAN_S)}")
    data = {"program silent, s": found.value, "program killed, s": killed.value, "cable pulled, s": pulled_s}
    return Result(back.passed and step.accepts(longest_s), longest_s, found.line, data)


def _killed(shop: Shop, step: SetupStep, quiet: bool) -> Finding:
    """Have another process heat and kill it; then off is sent and read back."""
    shop.tell("the same with another program that is killed")
    found = shop.killed(step, quiet)
    off = shop.drill("bus", step)
    return found if off.passed else off


def drilled(shop: Shop, step: SetupStep) -> Result:
    """Do the step's drill; what it finds bad has not passed, what it finds good the person confirms."""
    return _drill_then(shop, step)


def heater_pulse(shop: Shop, step: SetupStep) -> Result:
    """Pulse the heater; then a person's meter counts, where one was read."""
    return by_meter(shop, _drill_then(shop, step))


def _drill_then(shop: Shop, step: SetupStep, question: str = "As expected?") -> Result:
    found = shop.drill(step.drill, step)
    tell_finding(shop, found)
    if not found.passed:
        return Result(False, found.value, found.line)
    passed = shop.person.key(question)
    return Result(passed, found.value, f"{found.line} {note(shop)}".strip())


def cold_check(shop: Shop, step: SetupStep) -> Result:
    """Compare the sensors with a room thermometer, then see the process sensor move up when warmed."""
    room_c = point_c(shop, 'Oven and room at one temperature: what does the thermometer read ("21 C")? ')
    found, bad = _bad(shop, lambda probe: wires.cold(probe, shop.person, room_c))
    if bad:
        return Result(False, note=" ".join(bad))
    now = shop.drill("reading", step)
    if now.value is None:
        return Result(False, note=now.line)
    gap_k = max((now.value - room_c, *(f.off_by_k for f in found if f.off_by_k is not None)), key=abs)
    if not step.accepts(gap_k):
        said = f"{gap_k:+.1f} K from the thermometer; {step.high:g} K pass. Give both an hour, then try again"
        shop.person.say(f"  WRONG {said}")
        return Result(False, gap_k, said)
    moved = shop.drill("warmed", step)
    tell_finding(shop, moved)
    kind = paper.sensor_kind(shop.oven)
    passed = moved.passed and shop.person.key(f"Does the sensor's label match the file ({kind})?")
    if moved.passed and not passed:
        shop.person.say(f"  WRONG {OTHER_TYPE}")
    return Result(passed, gap_k, moved.line, {"room, °C": room_c})


def known_temperature(shop: Shop, step: SetupStep) -> Result:
    """Compare the sensor with boiling water: all types agree in a cold oven, here they part."""
    question = 'Your height above sea level, or better a barometer at the place ("350 m", "972 hPa")? '
    due_c, weather_k = until_read(shop, question, boils_here)
    by_weather = f", weather moves it by {weather_k:.1f} K" if weather_k else ""
    there = f"{due_c:.1f} °C there{by_weather}"
    if not shop.person.key(f"Tip in water that boils hard ({there}) for two minutes now?"):
        return Result(False, note="not begun")
    now = shop.drill(step.drill, step)
    if now.value is None:
        return Result(False, note=now.line)
    gap_k = now.value - due_c
    said = f"{now.value:.1f} °C in water that boils at {due_c:.1f} °C"
    shop.person.say(
        f"  {'ok   ' if step.accepts(gap_k) else 'WRONG'} {said}{likelier(shop.oven, now.value, due_c)}"
    )
    return Result(step.accepts(gap_k), gap_k, said, {"water boils at, °C": round(due_c, 2)})


def learn(shop: Shop, _step: SetupStep) -> None:
    """Learning is a heat of its own; once it is done, the walk finds it in the logbook."""
    shop.person.say(f"  That is a heat of its own: `kilnctl tune {shop.oven.name}`, then come back.")


def sensor_out(shop: Shop, step: SetupStep) -> Result:
    """Sensor unplugged: off within two ticks; then the latch must be there for a program started anew."""
    result = _drill_then(shop, step, "Did the power go at once?")
    if not result.passed:
        return result
    latched = shop.still_latched()
    said = "the latch survives a restart" if latched else "the latch did NOT survive a restart"
    shop.person.say(f"  {'ok   ' if latched else 'WRONG'} {said}")
    return Result(latched, result.value, f"{result.note}; {said}")


def horn_and_messages(shop: Shop, step: SetupStep) -> Result:
    """Sound what is there, send a test message where messages are set up; store what was heard, and when."""
    tested: dict[str, str] = {}
    fitted = [n for n in ("horn", "lamp") if getattr(shop.oven.output, n) is not None]
    if fitted:
        found = shop.drill("horn", step)
        tell_finding(shop, found)
        for name in fitted if found.passed else ():
            tested[name] = _word(
                shop.person.key(f"{paper.NOTICED[name]} from five metres, with ear defenders?")
            )
    shop.person.say("\a  The terminal's bell has rung.")
    tested["bell"] = _word(shop.person.key("Was the bell heard?"))
    sent = shop.send_test()
    for line in sent:
        shop.person.say(f"  {line}")
    if sent:
        gone = not any(line.startswith("WRONG") for line in sent)
        tested["messages"] = _word(gone and shop.person.key("Did the test message arrive?"))
    needed = [*fitted, *(["messages"] if "messages" in tested else [])]
    passed = bool(fitted) and all(tested.get(name) == "yes" for name in needed)
    if not fitted:
        shop.person.say("  WRONG no horn and no lamp in the oven file: nobody would hear an unattended oven")
    return Result(passed, note=", ".join(f"{k}: {v}" for k, v in tested.items()), data={"tested": tested})


def _word(yes: bool) -> str:
    return "yes" if yes else "failed"


DOING: dict[str, Doing] = {
    "caution": caution,
    "oven file": oven_file,
    "bus check": bus_check,
    "dead-man test": dead_man,
    "cold check": cold_check,
    "known temperature": known_temperature,
    "heater pulse": heater_pulse,
    "reference check": paper.reference_check,
    "limit test": independent_limit.limit_test,
    "weld drill": drilled,
    "drop test": drop_test.drop_test,
    "earth and insulation": earth.earth,
    "learn": learn,
    "door test": drilled,
    "sensor-out drill": sensor_out,
    "overshoot check": paper.overshoot_check,
    "power drill": paper.power_drill,
    "horn and messages": horn_and_messages,
    "uniformity": paper.uniformity,
    "first temper": paper.first_temper,
    "fire equipment": paper.fire_equipment,
}
