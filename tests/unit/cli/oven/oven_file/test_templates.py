"""What is said of a key is said of the table that it stands in, with nothing to look for elsewhere."""

import re

import pytest
from trade_plans import FURNACE

from kilnctl.cli.oven.oven_file.more_keys import more_keys
from kilnctl.cli.oven.oven_file.templates import WAYS, meaning
from kilnctl.model.nameplate import nameplate
from kilnctl.model.oven_model import advance, at_rest, sensor_c

TABLES = (
    ("port", "p"), ("device", "d"), ("signal", "process"), ("signal", "heater_live"), ("output", "heater"),
    ("output", "heater", "back"), ("dead_man",), ("arm",), ("identity",),
)  # fmt: skip
ELSEWHERE = re.compile(r"\b(?:see )?(?:below|above)$|\bsee (?:below|above)\b|1 or 2, and 7 or 8")
# First minute in K and minutes to 200 °C, as the question says them.
QUICK = {"fan": (13, 9.0), "brick": (11, 6.5), "heavy": (11, 6.5), "leaky": (8, 8.0)}


@pytest.mark.parametrize("way", WAYS)
def test_the_kind_of_a_heater_is_no_kind_of_a_device(way) -> None:
    """Above `kind = "duty"` of a heater stood "# kind: `text`", the word of its device."""
    assert meaning(("output", "heater", "kind"), way.topic).startswith("of the heater: ")
    assert "`modbus` (default)" in meaning(("device", "micro", "kind"), way.topic)


@pytest.mark.parametrize("way", WAYS)
@pytest.mark.parametrize("kind", ["modbus", "text", "line"])
def test_no_question_points_to_what_is_not_beside_it(way, kind) -> None:
    for path in TABLES:
        for key in (*more_keys(path, kind), "words", "kind"):
            assert not ELSEWHERE.search(meaning((*path, key), way.topic)), (path, key)


def first_minute_k_and_minutes_to_200(build: str) -> tuple[float, float]:
    oven = FURNACE.model_copy(update={"build": build})
    model, state, seconds, minute_k = nameplate(oven), at_rest(20.0), 0, 0.0
    while sensor_c(state) < 200.0:
        state, seconds = advance(model, state, 1.0, 20.0, 1.0), seconds + 1
        minute_k = sensor_c(state) - 20.0 if seconds <= 60 else minute_k
    return minute_k, seconds / 60.0


@pytest.mark.parametrize("build", QUICK)
def test_a_build_is_told_by_what_its_model_does(build) -> None:
    minute_k, minutes = QUICK[build]
    told = next(part for part in meaning(("build",), "").split(". ") if f"`{build}`" in part)
    assert told.startswith(f"{minute_k} K, ")
    assert first_minute_k_and_minutes_to_200(build) == pytest.approx((minute_k, minutes), abs=0.6)


def test_a_thin_walled_oven_that_heats_40_k_in_a_minute_is_told_its_build() -> None:
    """It was written as leaky for its thin walls, and good pulses were called wrong."""
    minute_k, minutes = first_minute_k_and_minutes_to_200("fibre")
    assert minute_k >= 15
    assert minutes <= 5
    told = "15 K or more (40 K too), or 200 °C within 5 min: `fibre`, whatever its walls"
    assert told in meaning(("build",), "")
