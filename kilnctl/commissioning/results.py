"""Results of set-up steps in words: what was stored, what is done, open or overdue."""

from collections.abc import Collection, Mapping

from kilnctl.clock import say_day
from kilnctl.config.abilities import may_heat
from kilnctl.config.oven import Oven
from kilnctl.logbook.entries import CommissioningStep
from kilnctl.permits.needed_steps import TEMPER_C, RunKind, needs
from kilnctl.permits.open_steps import StepResult, open_or_overdue
from kilnctl.permits.setup_steps import STEPS, Blocks, SetupStep
from kilnctl.units import say_point

SHOWN = 3  # reasons that stand in the last line of a walk; --list has all
BARRED: dict[Blocks, str] = {
    "everything": "no heat",
    "live heat": "no heat",
    "live heat above 260 °C": "no heat above 260 °C",
    "unattended": "no heat that is left alone",
    "claims": "no claim to a temperature",
}
FIRST = "A first heat, with you beside it: `kilnctl run --oven {} --soak 60C --for 10min`"
# What the number of a step is.
MEANS = {
    "dead-man test": "until the heat was off",
    "cold check": "from the thermometer",
    "known temperature": "from the boiling point",
    "heater pulse": "risen",
    "reference check": "from the reference at most",
    "limit test": "when the limit opened",
    "overshoot check": "over the goal",
    "uniformity": "from the set-point at most",
}


def stored(kept: CommissioningStep, now_s: float) -> str:
    """Say what was stored of a step: passed or not, the value, the day, and until when it holds."""
    value = "" if kept.value is None else f", {_value(kept.step, kept.value, kept.unit)}"
    until = (
        "" if kept.expires_utc is None or not kept.passed else f", holds until {say_day(kept.expires_utc)}"
    )
    return f"{'passed' if kept.passed else 'NOT passed'}{value}, stored {say_day(now_s)}{until}"


def failed(kept: CommissioningStep, step: SetupStep) -> str:
    """Say which answer or finding failed a step, and what is barred until it has passed."""
    no = [f'"{question}" was answered with no' for question, answer in kept.data.items() if answer is False]
    why = "; ".join(no) or kept.note.strip() or f"expected: {step.expect}"
    end = "" if why.endswith(("?", "!")) else "."
    return f"Why: {why.rstrip('.')}{end} Until {step.name} has passed: {BARRED[step.blocks]}"


def may_do(done: Mapping[str, StepResult], now_s: float, oven: Oven, oven_hash: str) -> str:
    """Say in one line up to where the oven may heat with a person beside it, or why not at all."""

    def missing(kind: RunKind) -> tuple[str, ...]:
        return open_or_overdue(needs(kind, oven), done, now_s, oven, oven_hash)

    real = f"{oven.name} is simulated and heats without a set-up; a real one" if oven.simulated else oven.name
    if not may_heat(oven):
        return f"{real}: no heat, because of what the oven file says (`kilnctl oven check`)"
    if why := missing("live"):
        more = f", and {len(why) - SHOWN} more" if len(why) > SHOWN else ""
        return f"{real}: no heat, because of {'; '.join(why[:SHOWN])}{more}"
    if oven.limit_c <= TEMPER_C or not (why := missing("above 260")):
        return f"{real} may heat to below {say_point(oven.limit_c)}, attended. {FIRST.format(oven.name)}"
    but = f"higher not, because of {'; '.join(why)}"
    return f"{real} may heat up to {say_point(TEMPER_C)}, attended; {but}. {FIRST.format(oven.name)}"


def _value(step: str, value: float, unit: str) -> str:
    return " ".join(filter(None, (f"{value:.3g}", unit, MEANS.get(step, ""))))


def listing(
    done: Mapping[str, StepResult], now_s: float, oven: Oven, oven_hash: str, left_out: Collection[str] = ()
) -> list[str]:
    """Return one line a step: what is done, open or overdue, and what stands and falls with it.

    `left_out` are steps that make no sense on this oven.
    """
    return [
        f"-     {step.name:22} not needed on this oven"
        if step.name in left_out
        else _line(step, done.get(step.name), now_s, oven, oven_hash)
        for step in STEPS
    ]


def _line(step: SetupStep, done: StepResult | None, now_s: float, oven: Oven, oven_hash: str) -> str:
    problem = open_or_overdue([step], {} if done is None else {step.name: done}, now_s, oven, oven_hash)
    if problem:
        _, _, why = problem[0].partition(": ")
        return f"open  {step.name:22} {why}; needed for {step.blocks}"
    assert done is not None
    value = "" if done.value is None else _value(step.name, done.value, step.unit)
    left = "" if done.expires_utc is None else f"{(done.expires_utc - now_s) / 86400:.0f} days left"
    return f"done  {step.name:22} {', '.join(filter(None, (value, left)))}".rstrip()
