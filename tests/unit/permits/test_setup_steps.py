import pytest

from kilnctl.config import home
from kilnctl.config.oven import load_oven
from kilnctl.errors import ConfigError
from kilnctl.interlocks import INTERLOCKS
from kilnctl.permits.fingerprint import fingerprint
from kilnctl.permits.setup_steps import BY_NAME, DAY_S, STEPS, StepResult, find_step, needs, open_or_overdue

NOW = 1_800_000_000.0


@pytest.fixture
def oven():
    return load_oven(home.bundled("ovens") / "hardening-furnace.toml")


def fresh(names, **changes):
    furnace = load_oven(home.bundled("ovens") / "hardening-furnace.toml")
    return {
        name: StepResult(True, NOW - DAY_S, 5.0, NOW + DAY_S, "abc", rests_on=fingerprint(name, furnace))
        for name in names
    } | changes


def test_every_step_of_the_walk_is_there_once():
    numbers = [step.number for step in STEPS]
    walk = [f"C{n:02d}" for n in range(19) if n != 9] + ["C05b", "C09a", "C09b"]
    assert sorted(numbers) == sorted(walk)
    assert len(BY_NAME) == len(STEPS)
    assert all(before in BY_NAME for step in STEPS for before in step.after)


def test_no_step_name_shows_a_document_number():
    assert not any(step.number in f"{step.name}{step.do}{step.expect}" for step in STEPS)


def test_every_step_that_an_interlock_asks_for_exists():
    import ast
    import inspect

    asked = set()
    for kind in INTERLOCKS:
        for node in ast.walk(ast.parse(inspect.getsource(inspect.getmodule(kind)))):
            if isinstance(node, ast.Call) and getattr(node.func, "id", "") == "Trip":
                named = [k.value.value for k in node.keywords if k.arg == "repeat_step"]
                asked |= {*named, *(a.value for a in node.args[5:6])}
    assert asked
    assert asked <= set(BY_NAME)


def test_what_is_missing_failed_expired_or_of_another_file_is_named(oven):
    steps = needs("live", oven)
    names = [step.name for step in steps]
    assert open_or_overdue(steps, fresh(names), NOW, oven, "abc") == ()
    assert open_or_overdue(steps, {}, NOW, oven, "abc") == tuple(f"{name}: never done" for name in names)
    expired = {"dead-man test": StepResult(True, NOW - 91 * DAY_S, 5.0, NOW - DAY_S, "abc")}
    assert open_or_overdue(steps, fresh(names, **expired), NOW, oven, "abc") == (
        "dead-man test: expired 1 day ago",
    )
    failed = {"drop test": StepResult(False, NOW)}
    assert open_or_overdue(steps, fresh(names, **failed), NOW, oven, "abc") == ("drop test: failed today",)
    changed = open_or_overdue(steps, fresh(names), NOW, oven, "another")
    assert changed == ("oven file: the file has changed since it was confirmed",)
    future = {"cold check": StepResult(True, NOW + 3 * DAY_S)}
    assert "future" in open_or_overdue(steps, fresh(names, **future), NOW, oven, "abc")[0]


def test_each_kind_of_heat_needs_all_that_a_lesser_one_needs(oven):
    live, above, temper, heat = (
        {s.name for s in needs(kind, oven)}
        for kind in ("live", "above 260", "unattended temper", "unattended heat")
    )
    assert live < above < temper < heat
    assert "limit test" in temper - above
    assert {"reference check", "learn"} <= heat - temper


def test_the_weld_drill_is_spared_where_a_contact_sees_the_element(oven):
    blind = oven.model_copy(update={"signal": oven.signal.model_copy(update={"heater_live": None})})
    assert "weld drill" not in {s.name for s in needs("unattended temper", oven)}
    assert "weld drill" in {s.name for s in needs("unattended temper", blind)}


def test_a_value_outside_the_limits_does_not_pass():
    dead_man = find_step("dead-man test")
    assert dead_man.accepts(9.9)
    assert not dead_man.accepts(10.6)
    assert not dead_man.accepts(None)
    assert find_step("drop test").accepts(None)
    with pytest.raises(ConfigError, match="no set-up step"):
        find_step("dance")
