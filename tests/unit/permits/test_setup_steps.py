import pytest

from kilnctl.errors import ConfigError
from kilnctl.interlocks import INTERLOCKS
from kilnctl.permits.setup_steps import BY_NAME, STEPS, find_step


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


def test_a_value_outside_the_limits_does_not_pass():
    dead_man = find_step("dead-man test")
    assert dead_man.accepts(9.9)
    assert not dead_man.accepts(10.6)
    assert not dead_man.accepts(None)
    assert find_step("drop test").accepts(None)
    with pytest.raises(ConfigError, match="no set-up step"):
        find_step("dance")


# By the text that a person reads beside each: "within two ticks", "150 °C ± 10", "10 K at most".
BOUNDS = {
    "dead-man test": (0.0, 10.5),
    "cold check": (-3.0, 3.0),
    "known temperature": (-3.0, 3.0),
    "heater pulse": (1.0, 150.0),
    "reference check": (-10.0, 10.0),
    "limit test": (140.0, 160.0),
    "sensor-out drill": (0.0, 2.0),
    "overshoot check": (-50.0, 5.0),
}


@pytest.mark.parametrize(("name", "bounds"), BOUNDS.items())
def test_what_a_step_still_accepts_is_what_it_says(name, bounds):
    step, (low, high) = find_step(name), bounds
    assert [step.accepts(v) for v in (low - 0.01, low, high, high + 0.01)] == [False, True, True, False]


def test_every_step_with_a_measured_value_is_in_that_table():
    assert {step.name for step in STEPS if (step.low, step.high) != (None, None)} == set(BOUNDS)
