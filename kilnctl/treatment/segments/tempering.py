"""Temper, snap temper and cold treatment as segments."""

from kilnctl.errors import ProfileError
from kilnctl.profile.segments import Cool
from kilnctl.treatment.recipe.treatments import ColdTreatment, Harden, SnapTemper, Temper, Wait
from kilnctl.treatment.segments.segment_builders import (
    HOT_RATE_C_PER_H,
    LONGEST_COOL_S,
    SETTLE_S,
    TEMPER_BAND_K,
    WEAR,
    Pick,
    PlanFor,
    Segments,
    Words,
    asked,
    cool,
    person,
    ramp,
    soak,
)
from kilnctl.treatment.steel.hardness import said_span
from kilnctl.treatment.steel.own_words import say_answer
from kilnctl.treatment.steel.sourced_values import PRACTICE
from kilnctl.treatment.steel.temper.temper_choice import allowed, temper_choice
from kilnctl.units import say_duration

DEFAULT_TEMPER_S = 7200.0
# A cold treatment begins within the hour and the part comes up in still air (common practice).
COLD_BEGINS_S, WARMS_UP_S = 3600.0, 7200.0
# Above it a shut oven needs many hours to hand-warm, and alloy steel may grow brittle on the way.
COOLS_OUTSIDE_FROM_C = 300.0
BACK_WITHIN_S = 2 * 3600.0
_OUTSIDE = (
    "the shut oven needs many hours from here, and slow cooling through 550-375 °C can make alloy steel "
    'brittle (temper embrittlement, textbooks, from memory); where nobody is there: cool = "shut"'
)
_GENTLE = "a rate the oven can follow without overshooting"
_GATE = (
    "the next temper acts on what turned to martensite in this cooling; "
    "without it the two are one long temper"
)


def temper(bench: PlanFor, treatment: Temper) -> Segments:
    """Return one or more tempers, each followed by a cool to hand-warm with the heat off.

    Raises ProfileError where neither the treatment nor the goal hardness gives a temperature.
    """
    at, hold, count = _temperature(bench, treatment), _time(bench, treatment), _count(bench, treatment)
    segments: Segments = ()
    first = 1 + _tempers_before(bench, treatment)
    last = first + int(count.value) - 1
    for n in range(first, last + 1):
        name = _name(bench, treatment, n, at.value)
        words = Words("temper", f"{name}: heat", _GENTLE, PRACTICE)
        why = _reasons(at, hold, *((count,) if n > first else ()))
        segments += (ramp(at.value, words, treatment.rate_c_per_h or HOT_RATE_C_PER_H),)
        segments += _hot_load(treatment, at.value, words) if n == first and treatment.load == "hot" else ()
        segments += (
            soak(
                at.value,
                hold.value,
                words.say(f"{name}: soak", why, _sources(at, hold)),
                TEMPER_BAND_K,
                shield=treatment.shield,
            ),
            *_cooling(bench, treatment, at.value, words.say(name), n == last),
        )
    return segments


def _cooling(bench: PlanFor, treatment: Temper, at_c: float, words: Words, last: bool) -> Segments:
    """Return how a temper ends: in the shut oven, or taken out hot by a person, heat off.

    Raises ProfileError for a gate, which ends a cooling in the oven, beside a cooling in air.
    """
    if treatment.cool == "air" and treatment.gate_c is not None:
        raise ProfileError('a gate ends the cooling in the shut oven: leave it out, or write cool = "shut"')
    where = treatment.cool or ("air" if at_c > COOLS_OUTSIDE_FROM_C else "shut")
    if where == "shut" or treatment.gate_c is not None:
        return (_gate(bench, treatment, words, words.label, last),)
    out = words.say(f"{words.label}: take out", _OUTSIDE, PRACTICE)
    say = f"Take the part out and let it cool in still air to hand-warm, nothing touching it. {WEAR}"
    segments: Segments = (person("unload", f"{say} Answer done when it is out.", LONGEST_COOL_S, out),)
    if last:
        return segments
    back = words.say(f"{words.label}: put back", _GATE, PRACTICE)
    say = f"When it is hand-warm, put it back and shut the door. {WEAR} Answer done then."
    return (*segments, person("load", say, BACK_WITHIN_S, back))


def _name(bench: PlanFor, treatment: Temper, n: int, at_c: float) -> str:
    """Return what a temper is called: with its heat where the recipe tempers at more than one."""
    asked_c = {t.at_c for t in bench.recipe.treatment if isinstance(t, Temper)}
    return f"temper {n} at {at_c:.0f} °C" if len(asked_c) > 1 else f"temper {n}"


def _hot_load(treatment: Temper, at_c: float, words: Words) -> Segments:
    """Return the steps of an oven that was started beforehand: it settles empty and waits for the part."""
    settle = words.say("oven settles, empty", "so that the part meets hot walls", PRACTICE)
    load = words.say("load", "the part comes hand-warm from its quench; its clock starts inside", PRACTICE)
    say = f"Put the hand-warm part in and shut the door. The oven is hot: {WEAR.lower()} Answer done."
    return (
        soak(at_c, SETTLE_S, settle, TEMPER_BAND_K, clock="oven"),
        person("load", say, treatment.wait_s, load, at_c),
    )


def _tempers_before(bench: PlanFor, treatment: Temper) -> int:
    """Return how many tempers the recipe has before this treatment: they are counted through."""
    chain = bench.recipe.treatment
    place = next((n for n, t in enumerate(chain) if t is treatment), 0)
    return sum(int(_count(bench, t).value) for t in chain[:place] if isinstance(t, Temper))


def _gate(bench: PlanFor, treatment: Temper, words: Words, name: str, last: bool) -> Cool:
    to_c = treatment.gate_c if treatment.gate_c is not None else bench.hand_warm_c
    reason = "heat off; hand-warm before it is handled" if last else _GATE
    said = words.say(f"{name}: cool to hand-warm", reason, PRACTICE)
    return cool(to_c, said, measure="part", at_most_s=LONGEST_COOL_S)


def _temperature(bench: PlanFor, treatment: Temper) -> Pick:
    if treatment.at_c is not None:
        return asked(treatment.at_c, treatment, bench.recipe)
    if bench.recipe.goal_hrc is None:
        raise ProfileError(
            f"{bench.recipe.name}: the temper needs a temperature (at) or the recipe a goal_hrc"
        )
    elsewhere = (treatment.oven or bench.recipe.oven or bench.oven.name) != bench.oven.name
    highest_c = None if elsewhere else bench.oven.highest_goal_c
    choice = temper_choice(bench.known_steel, bench.recipe.goal_hrc, highest_c)
    goal = said_span(bench.recipe.goal_hrc)
    reason = f"for {goal} HRC: {said_span((choice.low_c, choice.high_c))} °C, ± 2 HRC"
    if choice.far_rows_k:
        reason += f"; read between rows {choice.far_rows_k:.0f} K apart, too far apart to trust: try a coupon"
    if choice.held:
        reason += f"; {choice.held}"
    if choice.others:
        reason += "; elsewhere " + "; ".join(choice.others)
    return _by_own(bench, treatment, Pick(choice.at_c, reason, choice.source), highest_c)


def _by_own(bench: PlanFor, treatment: Temper, by_table: Pick, highest_c: float | None) -> Pick:
    """Return the temper by the shop's own results, with the table's answer beside it; the table's without."""
    own, goal = bench.own, bench.recipe.goal_hrc
    if own is None or goal is None:
        return by_table
    together_s = _time(bench, treatment).value * _count(bench, treatment).value
    found = own.temper_c(sum(goal) / 2, together_s)
    if found is None:
        return by_table
    said, table = say_answer(found, goal, own.counts), f"{by_table.value:.0f} °C by the table"
    if not allowed(found.at_c, bench.known_steel, highest_c):
        why = f"{by_table.reason}; {said}, which lies in a band to avoid or above the oven's limit"
        return Pick(by_table.value, why, by_table.source)
    return Pick(found.at_c, f"{said}; {table}", f"own results; {by_table.source}")


def _time(bench: PlanFor, treatment: Temper) -> Pick:
    if treatment.time_s is not None:
        return asked(treatment.time_s, treatment, bench.recipe)
    for rule in bench.known_steel.temper:
        by_inch_s = (rule.per_inch_s or 0.0) * bench.inches
        why = "time for the thickest section" if by_inch_s > rule.time_s else "usual time at temperature"
        return Pick(max(rule.time_s, by_inch_s), why, bench.known_steel.cite(rule))
    return Pick(DEFAULT_TEMPER_S, "two hours at temperature", PRACTICE)


def _count(bench: PlanFor, treatment: Temper) -> Pick:
    if treatment.count is not None:
        return asked(float(treatment.count), treatment, bench.recipe)
    for rule in bench.known_steel.temper:
        return Pick(float(rule.count_high), "number of tempers of the card", bench.known_steel.cite(rule))
    return Pick(2.0, "two tempers", PRACTICE)


def _reasons(*picks: Pick) -> str:
    return "; ".join(dict.fromkeys(pick.reason for pick in picks))


def _sources(*picks: Pick) -> str:
    return "; ".join(dict.fromkeys(pick.source for pick in picks))


def snap_temper(bench: PlanFor, treatment: SnapTemper) -> Segments:
    """Return a short low temper that keeps a quenched part from cracking until the full one."""
    words = Words("snap temper", "snap temper: heat", _GENTLE, PRACTICE)
    why = "takes off the worst of the brittleness until the full temper, which it does not replace"
    return (
        ramp(treatment.at_c, words, treatment.rate_c_per_h or HOT_RATE_C_PER_H),
        soak(
            treatment.at_c,
            treatment.time_s,
            words.say("snap temper: soak", why, PRACTICE),
            TEMPER_BAND_K,
            shield=treatment.shield,
        ),
        cool(
            bench.hand_warm_c,
            words.say("snap temper: cool to hand-warm", "heat off", PRACTICE),
            measure="part",
            at_most_s=LONGEST_COOL_S,
        ),
    )


def wait(treatment: Wait) -> Segments:
    """Return a pause with the heat off, as long as it may last."""
    long = say_duration(treatment.at_most_s).removesuffix(" 00 min")
    why = f" {treatment.reason.rstrip('.')}." if treatment.reason else ""
    say = f"Wait with the heat off, {long} at most.{why} Answer done to go on."
    words = Words("hold", "wait", treatment.reason or "asked for by the recipe", treatment.source or PRACTICE)
    return (person("confirm", say, treatment.at_most_s, words),)


def _when(bench: PlanFor, treatment: ColdTreatment, by_the_card: str) -> str:
    """Return when the cold comes in this recipe, and the card's word where that is another."""
    tempered = False
    for before in bench.recipe.treatment[: bench.recipe.treatment.index(treatment)]:
        tempered = isinstance(before, Temper | SnapTemper) or (tempered and not isinstance(before, Harden))
    here = "after a temper" if tempered else "before any temper"
    agrees = " or " in by_the_card or tempered == by_the_card.startswith("after")
    return by_the_card if agrees else f"here {here} (the card: {by_the_card})"


def cold_treatment(bench: PlanFor, treatment: ColdTreatment) -> Segments:
    """Return a cold treatment: a step for a person, with every oven off.

    Raises ProfileError where neither recipe nor card says how cold.
    """
    at, hold_s, sources = treatment.at_c, treatment.time_s, [treatment.source or PRACTICE]
    claims = bench.known_steel.cold
    notes = "; ".join(dict.fromkeys(claim.note for claim in claims if claim.note))
    for claim in claims:
        if at is None or (hold_s is None and claim.time_s is not None):
            sources.append(bench.known_steel.cite(claim))
        at = claim.middle_c if at is None else at
        hold_s = claim.time_s if hold_s is None else hold_s
    source = "; ".join(dict.fromkeys(sources[1:] or sources))
    if at is None:
        raise ProfileError(
            f"{bench.recipe.name}: the card of {bench.known_steel.grade} has no cold treatment; say its at"
        )
    long = f" for {hold_s / 60:.0f} min" if hold_s else ""
    when = f", {_when(bench, treatment, claims[0].when)}" if claims else ""
    card = f" By the card: {notes}." if notes else ""
    say = (
        f"Cold treatment{when}: begin within the hour: retained austenite stabilises with time. Part at "
        f"{at:.0f} °C{long}, then let it warm to room temperature and temper it at once.{card} "
        "Gloves and eye cover; liquid nitrogen and dry ice need open air: in a room they displace the oxygen."
    )
    words = Words(
        "cold treatment", "cold treatment", "turns retained austenite; a temper must follow", source
    )
    longest_s = treatment.wait_s or COLD_BEGINS_S + (hold_s or 0.0) + WARMS_UP_S
    return (person("cold", say, longest_s, words),)
