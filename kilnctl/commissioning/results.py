"""Results of set-up steps in words: what was stored, what is done, open or overdue."""

from collections.abc import Collection, Mapping

from kilnctl.clock import say_day
from kilnctl.config.oven import Oven
from kilnctl.logbook.entries import CommissioningStep
from kilnctl.permits.open_steps import StepResult, open_or_overdue
from kilnctl.permits.setup_steps import STEPS, SetupStep


def stored(kept: CommissioningStep, now_s: float) -> str:
    """Say what was stored of a step: passed or not, the value, the day, and until when it holds."""
    value = "" if kept.value is None else f" {kept.value:.3g} {kept.unit}".rstrip()
    until = (
        "" if kept.expires_utc is None or not kept.passed else f", holds until {say_day(kept.expires_utc)}"
    )
    return f"{'passed' if kept.passed else 'NOT passed'}{value}, stored {say_day(now_s)}{until}"


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
    value = "" if done.value is None else f"{done.value:.3g} {step.unit}".rstrip()
    left = "" if done.expires_utc is None else f"{(done.expires_utc - now_s) / 86400:.0f} days left"
    return f"done  {step.name:22} {', '.join(filter(None, (value, left)))}".rstrip()
