"""What a maker is told whose one contact sits on the contactor that a timer holds, not behind the heater."""

import pytest

from kilnctl.cli.oven.oven_file.check import report
from kilnctl.cli.oven.oven_file.templates import WAYS, meaning, template
from kilnctl.config.oven import Oven
from kilnctl.errors import ConfigError
from kilnctl.guide.pages import page
from kilnctl.interlocks import Thresholds
from kilnctl.interlocks.stuck_on import HeatWithoutDemand
from kilnctl.tomlfile import loads

EXAMPLE = page("timer-relay").text().split("```toml\n")[1].split("```")[0]
WITHOUT = "\n".join(line for line in EXAMPLE.splitlines() if not line.startswith("back"))


def oven_of(text: str) -> Oven:
    return loads(text, Oven, ConfigError, "oven")


@pytest.mark.parametrize("topic", ["timer-relay", "modbus-relay", "network"])
def test_the_question_says_which_contact_is_meant_and_which_is_not(topic: str) -> None:
    """Word for word it was "an auxiliary contact behind the timer": his X1 followed the timer's contactor."""
    assert template(WAYS[3])["output"]["heater"]["back"]
    said = meaning(("output", "heater", "back"), topic)
    assert "heater's own output is off" in said, said
    assert "the timer, not the heat" in said


def test_oven_check_says_what_the_contact_must_show() -> None:
    said = "\n".join(report(oven_of(EXAMPLE), "timer-oven"))
    assert "output.heater.back must open as soon as the heater's own output opens" in said
    assert "output.heater.back must" not in "\n".join(report(oven_of(WITHOUT), "timer-oven"))


def test_heat_without_demand_says_that_the_contact_may_show_the_timer(make, let_watch) -> None:
    oven = oven_of(EXAMPLE)
    trip = let_watch(
        HeatWithoutDemand(oven, Thresholds.of(oven, None)),
        5,
        {"heat_asked": False, "duty_asked": 0.0, "heat_on": True},
    )
    assert "BY HAND" in trip.reason
    assert "output.heater.back may show the timer, not the heat" in trip.reason


def test_a_timer_that_drops_a_contactor_of_its_own_is_not_told_that_only_the_isolator_cuts() -> None:
    said = " ".join(oven_of(EXAMPLE).weaker)
    assert "is cut only by what works without it" not in said
    assert "a contactor of its own that the timer drops" in said
    no_timer = EXAMPLE.replace("then = 0\n", "").split("back =")
    plain = oven_of(no_timer[0] + no_timer[1].split("\n", 1)[1])
    assert "is cut only by what works without it" in " ".join(plain.weaker)
