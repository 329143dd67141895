"""One truth each: who is late, what is live, how a run ended. Horn, telephone, screen and record agree."""

import re
from pathlib import Path
from typing import get_args

import pytest

from kilnctl import stages
from kilnctl.dashboard import formatting
from kilnctl.heat.telling.horn_patterns import call_for
from kilnctl.link.snapshot import Snapshot, Waiting
from kilnctl.processes.messenger import late
from kilnctl.profile.segments import Operator

HOUSE = Path(__file__).parents[2] / "kilnctl"
README = (HOUSE.parent / "README.md").read_text(encoding="utf-8")
# Step, longest wait and when it is late by hand: half of the wait, five minutes at most.
STEPS = [
    ("quench", 60.0, 30.0),
    ("quench", 900.0, 300.0),
    ("clamp", 1800.0, 300.0),
    ("unload", 14400.0, 300.0),
]


def seen(step: str, longest_s: float, waited_s: float) -> Snapshot:
    waiting = Waiting(step, "do it", 1000.0, 1000.0 + longest_s, heat_on_meanwhile=True)
    word = "ready to quench" if step == "quench" else "waiting for you"
    return Snapshot(
        "left", True, 1, "", "running", word, 1000.0 + waited_s, 800.0, 800.0, None, 800.0, 900.0, 0.0, False,
        waiting=waiting,
    )  # fmt: skip


@pytest.mark.parametrize(("step", "longest_s", "late_s"), STEPS)
@pytest.mark.parametrize("after_s", [-1.0, 1.0])
def test_horn_telephone_and_screen_call_late_at_the_same_second(
    step: str, longest_s: float, late_s: float, after_s: float
) -> None:
    """Once a clamp of half an hour was late after 300 s, after 900 s, and never."""
    waited_s, is_late = late_s + after_s, after_s > 0
    segment = Operator.model_validate({"step": step, "say": "do it", "at_most": f"{longest_s} s"})
    s = seen(step, longest_s, waited_s)
    assert (call_for(False, segment, None, None, waited_s) == "late") == is_late
    assert late(s) == is_late
    assert (formatting.face(s).big == "LATE") == is_late


def test_every_outcome_has_one_exit_code_that_the_readme_tells() -> None:
    assert set(stages.EXIT_CODES) == set(get_args(stages.OutcomeWord))
    told = dict(re.findall(r"^\| *(\d+) *\| *(.+?) *\|$", README, re.MULTILINE))
    assert {str(code) for code in stages.EXIT_CODES.values()} <= set(told)


def test_every_state_ends_in_an_outcome() -> None:
    over = set(get_args(stages.RunState)) - set(stages.LIVE)
    assert {stages.outcome_of(state, False) for state in over} == {"complete", "stopped", "tripped"}
    assert stages.outcome_of("aborted", True) == "ended_early"
    assert stages.in_words("ended_early") == "ended early"


@pytest.mark.parametrize(
    "typed_anew",
    [
        r"^LIVE\b.* = \(",
        r"^HOT_C\b.* = ",
        r"^EARLY_S\b.* = ",
        r"^ARRIVED_K = ",
        r"\(\"running\", \"held\"\)",
        r"outcome\.replace\(\"_\"",
        r"Parameter\(name=\"--json\"",
        r"os\.fsync\(file",
        r"strftime\(\"%Y|:%Y-%m",
    ],
)
def test_what_is_said_once_is_not_typed_anew(typed_anew: str) -> None:
    """Each of these stood in two to six places, and some of them had drifted apart."""
    found = [
        path.relative_to(HOUSE)
        for path in HOUSE.rglob("*.py")
        if re.search(typed_anew, path.read_text(encoding="utf-8"), re.MULTILINE)
    ]
    assert len(found) <= 1, found
