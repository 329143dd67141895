"""The learning heat-up at each bound, from both sides. The bounds are tuned, so they come from the code."""

import math
from dataclasses import replace
from pathlib import Path

import pytest

from kilnctl.config.oven import load_oven
from kilnctl.errors import RunRefused
from kilnctl.learning import identification_run
from kilnctl.learning.identification_run import (
    LearningPlan,
    LearningState,
    Phase,
    advance_learning,
    plan_learning,
)

OVEN = load_oven(Path(__file__).parents[3] / "profiles/ovens/tempering-oven.toml")
PLAN = LearningPlan(ceiling_c=220.0, ambient_c=20.0, limit_c=260.0)


def at(phase: Phase, **known: float) -> LearningState:
    """Return a heat-up in mid-phase that has just read 100 degC, for which all is well."""
    start = {"entered_c": 60.0, "peak_c": 100.0, "last_c": 100.0, "mark_c": 60.0}
    return replace(LearningState(phase=phase, duty=float(phase == "heat")), **(start | known))


def then(state: LearningState, process_c: float = 100.0, dt_s: float = 1.0) -> LearningState:
    return advance_learning(PLAN, state, process_c, dt_s)


def test_the_cold_oven_is_watched_before_any_heat() -> None:
    cold = LearningState(last_c=20.0)
    before = then(replace(cold, phase_s=identification_run._WAIT_S - 1.1), 20.0)
    assert (before.phase, before.duty) == ("wait", 0.0)
    begun = then(replace(cold, phase_s=identification_run._WAIT_S - 1.0), 21.0)
    assert (begun.phase, begun.duty, begun.phase_s, begun.entered_c, begun.mark_c) == (
        "heat",
        1.0,
        0.0,
        21.0,
        21.0,
    )
    for gap_k, phase in ((identification_run._COLD_K, "wait"), (identification_run._COLD_K + 0.1, "failed")):
        for way in (1, -1):
            assert then(LearningState(), 20.0 + way * gap_k).phase == phase


@pytest.mark.parametrize(
    ("step_k", "phase"), [(identification_run._JUMP_K, "heat"), (identification_run._JUMP_K + 0.1, "failed")]
)
def test_a_jump_of_the_reading(step_k: float, phase: str) -> None:
    assert then(at("heat", pause=3), 100.0 + step_k).phase == phase
    assert then(at("heat", pause=3), 100.0 - step_k).phase == phase


def test_the_ceiling_and_the_longest_time() -> None:
    hot = at("coast", last_c=219.0, peak_c=219.0, entered_c=218.0, pause=3)
    assert then(hot, 219.9).phase == "coast"
    assert "at the ceiling" in then(hot, 220.0).why
    assert then(at("heat", pause=3, total_s=identification_run._LONGEST_S)).phase == "heat"
    assert "not finished" in then(at("heat", pause=3, total_s=identification_run._LONGEST_S + 1.0)).why


def test_no_heat_and_no_progress() -> None:
    late_s = identification_run._NO_HEAT_S - 1.0
    for rise_k, phase in (
        (identification_run._NO_HEAT_K, "heat"),
        (identification_run._NO_HEAT_K - 0.1, "failed"),
    ):
        assert then(at("heat", pause=3, phase_s=late_s, entered_c=100.0 - rise_k)).phase == phase
    assert then(at("heat", pause=3, phase_s=late_s - 0.1, entered_c=100.0)).phase == "heat"
    stall = {"pause": 3, "phase_s": identification_run._STALL_S + 99.0, "mark_s": 100.0}
    gone_on = then(at("heat", **stall, mark_c=100.0 - identification_run._STALL_K))
    assert (gone_on.phase, gone_on.mark_c, gone_on.mark_s) == (
        "heat",
        100.0,
        identification_run._STALL_S + 100.0,
    )
    assert "no longer lifts" in then(at("heat", **stall, mark_c=100.1 - identification_run._STALL_K)).why
    slowed, stopped = (then(at("heat", **stall, mark_c=99.0, risen_k=k)).why for k in (7.0, 9.0))
    assert "lower tune_ceiling" in slowed
    assert "salt that melts" in stopped
    early = at("heat", **(stall | {"mark_s": 100.1}), mark_c=100.0)
    assert then(early).phase == "heat"


def test_a_pause_begins_at_its_share_of_the_way_or_where_the_coast_still_fits() -> None:
    shares = [PLAN.pause_at_c(number, 0.0) for number in range(PLAN.pauses)]
    way_k = PLAN.ceiling_c - PLAN.ambient_c
    assert shares[:-1] == pytest.approx([20.0 + share * way_k for share in identification_run._SHARES[:-1]])
    assert shares[-1] == PLAN.ceiling_c - identification_run._MARGIN_K
    assert (
        PLAN.pause_at_c(3, 30.0)
        == PLAN.ceiling_c - identification_run._MARGIN_K - 30.0 * identification_run._COAST_CAUTION
    )
    aim_c = PLAN.pause_at_c(1, 5.0)
    for process_c, phase in ((aim_c, "coast"), (aim_c - 0.1, "heat")):
        entered = then(at("heat", pause=1, coast_k=5.0, last_c=aim_c), process_c)
        assert (entered.phase, entered.duty) == (phase, float(phase == "heat"))
    assert (entered.pause, entered.coast_k) == (1, 5.0)


@pytest.mark.parametrize(
    ("process_c", "age_s", "turned"),
    [
        (110.0 - identification_run._TURNED_K, 0.0, True),
        (110.1 - identification_run._TURNED_K, 0.0, False),
        (109.0, identification_run._TURNED_S - 1.0, True),
        (109.0, identification_run._TURNED_S - 1.1, False),
        (110.1, identification_run._TURNED_S, False),  # a new peak counts from here
    ],
)
def test_a_pause_ends_when_the_oven_has_turned(process_c: float, age_s: float, turned: bool) -> None:
    after = then(
        at("coast", peak_c=110.0, peak_age_s=age_s, risen_to_c=109.0, pause=1, phase_s=60.0), process_c
    )
    assert (after.phase, after.pause, after.duty) == (("heat", 2, 1.0) if turned else ("coast", 1, 0.0))
    assert after.coast_k == pytest.approx(max(process_c, 110.0) - 60.0)


def test_the_largest_coast_is_kept() -> None:
    assert then(at("coast", coast_k=70.0, peak_c=110.0)).coast_k == 70.0


def test_heat_that_goes_on_without_command() -> None:
    rising = at("coast", pause=1, phase_s=identification_run._COAST_LIMIT_S - 1.0)
    assert then(rising, 101.0).phase == "coast"
    assert "may be stuck" in then(replace(rising, phase_s=identification_run._COAST_LIMIT_S), 101.0).why
    turned = at("coast", pause=1, phase_s=identification_run._COAST_LIMIT_S, peak_c=110.0)
    assert then(turned).phase == "heat"


@pytest.mark.parametrize(
    ("pause", "way_s", "last"),
    [
        (3, 0.0, True),
        (2, 0.0, False),
        (2, identification_run._SLOW_S, False),
        (2, identification_run._SLOW_S + 1.0, True),
        (1, identification_run._SLOW_S + 1.0, False),
    ],
)
def test_the_last_pause_is_watched_to_its_end(pause: int, way_s: float, last: bool) -> None:
    long_s = identification_run._LAST_COAST_S
    turned = at("coast", pause=pause, peak_c=110.0, phase_s=long_s - 1.0, total_s=way_s + long_s - 1.0)
    assert then(turned).phase == ("pulses" if last else "heat")
    young = replace(turned, phase_s=long_s - 1.1, total_s=way_s + long_s - 1.1)
    assert then(young).phase == ("coast" if last else "heat")
    rising = replace(turned, peak_c=100.0)
    assert then(rising, 101.0).phase == "coast"


@pytest.mark.parametrize(
    ("ceiling_c", "taken"), [(250.0, True), (250.1, False), (120.0, True), (119.9, False)]
)
def test_the_ceiling_of_the_file_from_both_sides(ceiling_c: float, taken: bool) -> None:
    oven = OVEN.model_copy(update={"tune_ceiling_c": ceiling_c})
    if taken:
        plan = plan_learning(oven)
        assert replace(plan, dose_s=math.inf) == LearningPlan(ceiling_c, OVEN.ambient_c, OVEN.limit_c)
        return
    with pytest.raises(RunRefused, match="tune_ceiling"):
        plan_learning(oven)
