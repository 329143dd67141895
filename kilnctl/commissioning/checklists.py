"""The set-up steps on paper: what a person confirms, and numbers that he brings, which become entries."""

import re

from kilnctl.care.calibration import PAIR, Pair, fitted, insist, largest_error_k
from kilnctl.care.going_on import going_on, how_it_ended
from kilnctl.care.survey import LEAST_POSITIONS, orientation, survey_of
from kilnctl.commissioning.prompts import all_yes, note, point_c
from kilnctl.commissioning.wizard import Result, Shop
from kilnctl.config.oven import Oven
from kilnctl.errors import ConfigError, UnitError
from kilnctl.logbook.entries import Calibration
from kilnctl.permits.cautions import cautions
from kilnctl.permits.couple_proof import UPPER_POINT
from kilnctl.permits.setup_steps import SetupStep
from kilnctl.units import parse_point_c, say_duration, say_point

BEFORE_ANYTHING = (
    "Read and understood?",
    "Wired to your local electrical and fire codes, by a licensed electrician where required?",
    "A metal-bodied machine for this use alone, marked as never again for food?",
    "An independent over-temperature limit fitted, with its own sensor and hand reset, that cuts the heat by "
    "its own contactor or breaks the element's circuit itself (a capillary one)?",
    "No asbestos in it (an old oven: its maker's word, or a laboratory's), and no lining drilled or cut dry?",
    "Two switching devices in series, normally open, breaker and wires right for this machine?",
)
LIMIT_QUESTIONS = (
    "Did its own contactor open, by itself (without one: did it break the element's circuit)?",
    "Did it stay open when the oven was cold, until you reset it by hand?",
    "Second pass: heated to 180 °C with the limit high, computer unplugged, limit lowered: did it open?",
)
MAKERS_LIMIT_QUESTIONS = (
    "Did its own contactor open in its maker's test, by itself (without one: did it break the element's "
    "circuit)?",
    "Did it stay open until you reset it by hand?",
    "Was the computer unplugged for one of the tests?",
)
FIRE_QUESTIONS = (
    "Extinguisher for burning oil (class B; cooking oil F or K) and live equipment, in date, on the way out?",
    "Metal lid for the oil at hand, and `kilnctl guide the-oil-burns` read?",
    "Smoke and CO alarms tested today?",
    "Way out clear, signs up, nothing that burns near or above the oven?",
)
POWER_QUESTIONS = (
    "Did the heat stay off until you had answered?",
    "Was it dark for about as long as that says?",
)
NOTICED = {"horn": "Was the horn heard", "lamp": "Was the lamp seen"}
_PLACE = re.compile(r"(.+?)\s*=\s*(.+)")


def before_anything() -> str:
    """Return the caution as it is shown before the first question."""
    return " ".join(cautions().before_anything.split())  # a terminal breaks the rows


def values_of(oven: Oven) -> tuple[str, ...]:
    """Return the values of an oven file that a person confirms, one question each."""
    return (
        f"Machine limit {say_point(oven.limit_c)}?",
        f"Power {oven.power_w:g} W{_drawn(oven)}?",
        f"Sensor {sensor_kind(oven)}, and the module speaks {oven.signal.process.unit}?",
        f"Isolator: {oven.isolator}?",
        f"Build {oven.build}{_heats(oven)}?",
        f"In an emergency you call {oven.phone or 'your local emergency number'}?",
        *(f"{sentence} Understood?" for sentence in oven.weaker),
    )


def sensor_kind(oven: Oven) -> str:
    """Return the sensor's kind as the file has it, which its own label must say too."""
    couple = oven.signal.process.couple
    return "not one of the thermocouple letters (a Pt100?)" if couple == "other" else f"type {couple}"


def _heats(oven: Oven) -> str:
    """Return what else the file says of how the oven heats, until it has been learned."""
    sits = "" if oven.elements is None else f", elements {oven.elements}"
    told = oven.measured
    if told is None or told.takes_s is None or told.heats_to_c is None:
        return sits
    return f"{sits}, {say_duration(told.takes_s)} to {say_point(told.heats_to_c)} at full heat"


def _drawn(oven: Oven) -> str:
    """Return the current that goes with the power, for a person with an ammeter or a plate in amperes."""
    return "" if oven.supply_v is None else f", {oven.power_w / oven.supply_v:.1f} A at {oven.supply_v:g} V"


def reference_check(shop: Shop, _step: SetupStep) -> Result:
    """Take two points of each sensor that controls or guards; they become its correction."""
    entries, worst_k = [], 0.0
    for sensor in (name for name in ("process", "second") if getattr(shop.oven.signal, name) is not None):
        shop.person.say(f"  the {sensor} sensor, against a reference at two temperatures far apart")
        points = (_point(shop, "Lower"), _point(shop, "Upper"))
        worst_k = max(worst_k, largest_error_k(points), key=abs)
        try:
            entries.append(_calibration(shop, sensor, points))
        except ConfigError as e:
            shop.person.say(f"  WRONG {e}")
            return Result(False, worst_k, str(e))
    upper = {UPPER_POINT: max(pair[1] for pair in entries[0].points)}
    return Result(True, worst_k, f"against {entries[0].reference}", upper, tuple(entries))


def _calibration(shop: Shop, sensor: str, points: tuple[Pair, Pair]) -> Calibration:
    """Return the correction as an entry. Raises ConfigError where the sensor wants replacing."""
    found, as_found_k = fitted(points), round(largest_error_k(points), 2)
    name, gain, offset_c, limit_c = shop.oven.name, found.gain, found.offset_c, shop.oven.limit_c
    insist(Calibration(name, sensor, gain, offset_c, points, as_found_k, None, ""), limit_c, limit_c)
    reference = shop.person.ask("Reference instrument (name, certificate): ")
    shop.person.say(f"  corrected = {gain:.5f} x reading {offset_c:+.3f} °C, from the next heat on")
    return Calibration(name, sensor, gain, offset_c, points, as_found_k, None, reference, shop.who)


def _point(shop: Shop, which: str) -> tuple[float, float]:
    """Ask for a pair twice, until both are the same."""
    question = f'{which} point, reading and reference ("219.5 C is 218.0 C"): '
    while True:
        pair = _pair(shop, question)
        if _pair(shop, f"{which} point, the same again: ") == pair:
            return pair
        shop.person.say("  the two differ; start again from the first")


def _pair(shop: Shop, question: str) -> tuple[float, float]:
    while True:
        match = PAIR.fullmatch(shop.person.ask(question))
        try:
            if match is not None:
                return parse_point_c(match[1]), parse_point_c(match[2])
            shop.person.say('  write it like "219.5 C is 218.0 C"')
        except UnitError as e:
            shop.person.say(f"  {e}")


def uniformity(shop: Shop, _step: SetupStep) -> Result:
    """Take what sensors at five or more positions read; they become a survey."""
    at_c = point_c(shop, 'At which temperature was the oven held ("218 C")? ')
    loaded = shop.person.key("With a usual load?")
    readings: list[tuple[str, float]] = []
    while True:
        said = f'Position {len(readings) + 1} ("front left = 826.1 C")'
        enough = len({name for name, _ in readings}) >= LEAST_POSITIONS
        text = shop.person.ask(f"{said}{'; Enter ends: ' if enough else ': '}", needed=not enough)
        if not text:
            break
        found = _place(shop, text)
        readings += [found] if found is not None else []
    most_c = _most_c(shop)
    try:
        kept = survey_of(shop.oven, at_c, readings, most_c, loaded=loaded, who=shop.who, note=note(shop))
    except ConfigError as e:
        shop.person.say(f"  WRONG {e}")
        return Result(False, note=str(e))
    said = orientation(kept.low_k, kept.high_k)
    shop.person.say(f"  {said}")
    return Result(True, max(abs(kept.low_k), abs(kept.high_k)), said, entries=(kept,))


def _most_c(shop: Shop) -> float | None:
    """Take the highest that any place read on the way to the hold, where somebody has looked."""
    while True:
        text = shop.person.ask(
            'The highest that any read on the way ("231 C"; Enter: not seen)? ', needed=False
        )
        try:
            return parse_point_c(text) if text else None
        except UnitError as e:
            shop.person.say(f"  {e}")


def _place(shop: Shop, text: str) -> tuple[str, float] | None:
    match = _PLACE.fullmatch(text)
    try:
        if match is not None:
            return match[1], parse_point_c(match[2])
        shop.person.say('  write it like "front left = 826.1 C"')
    except UnitError as e:
        shop.person.say(f"  {e}")
    return None


def overshoot_check(shop: Shop, step: SetupStep) -> Result:
    """Take the overshoot from the record of the heat that held the temperature."""
    run = _run(shop, "Hold it with `kilnctl run`; number of that run")
    if run is None:
        return Result(False, note="this oven has no run with that number")
    lines = [s for s in shop.reader.summary(run).get("segments", ()) if s.get("overshoot_k") is not None]
    if not lines:
        return Result(False, note=f"run {run} held no temperature")
    goal_c, over_k = max((float(s["goal_c"]), float(s["overshoot_k"])) for s in lines)
    most_k = 3.0 if goal_c < 300.0 else 5.0
    said = f"run {run}: {over_k:+.1f} K over {goal_c:.0f} °C, {most_k:g} K pass"
    shop.person.say(f"  {said}")
    return Result(over_k <= most_k, over_k, said, {"run": run})


def power_drill(shop: Shop, _step: SetupStep) -> Result | None:
    """Look at the record of a heat that was cut and taken up; without one nothing is stored."""
    runs = [row.run for row in shop.reader.runs(oven=shop.oven.name, limit=1000)]
    found = ((run, e.text) for run in runs for e in shop.reader.events(run) if e.kind == "taken up")
    run, said = next(found, (None, ""))
    if run is None:
        shop.person.say(
            "  No heat has been resumed yet: do that, `kilnctl run --from N` asks, then come back."
        )
        return None
    shop.person.say(f"  run {run}: {said}")
    passed, data = all_yes(shop, POWER_QUESTIONS)
    return Result(passed, note=f"run {run}: {said}. {note(shop)}".strip(), data={**data, "run": run})


def first_temper(shop: Shop, _step: SetupStep) -> Result | None:
    """Look at the record of the first live temper together; of one that still runs nothing is stored."""
    run = _run(shop, "Number of the run of the first temper")
    if run is None:
        return Result(False, note="this oven has no run with that number")
    row = shop.reader.run(run)
    goes_on = going_on(shop.reader, row, shop.now_s)
    shop.person.say(f"  run {run}: {row.profile_name}, {how_it_ended(row, goes_on)}")
    if goes_on:
        shop.person.say("  WRONG it runs still: come back when it is over; nothing is stored")
        return None
    passed = row.outcome == "complete" and shop.person.key("Does its record show what you saw?")
    return Result(passed, note=f"run {run}: {note(shop)}", data={"run": run})


def _run(shop: Shop, question: str) -> int | None:
    """Ask for a run of this oven; None where there is none of that number."""
    typed = shop.person.ask(f"{question}: ")
    mine = {row.run for row in shop.reader.runs(oven=shop.oven.name, limit=1000)}
    run = int(typed) if typed.isdecimal() else None
    if run in mine:
        return run
    shop.person.say(f"  WRONG no run {typed} of {shop.oven.name}")
    return None


def fire_equipment(shop: Shop, _step: SetupStep) -> Result:
    """Tick what must be there, one key each."""
    passed, data = all_yes(shop, FIRE_QUESTIONS)
    return Result(passed, note=note(shop) if passed else "something is missing", data=dict(data))
