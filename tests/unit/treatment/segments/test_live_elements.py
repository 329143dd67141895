"""Who opens an oven is told what makes its elements dead: a relay alone never does.

Hazards H20 (a solid-state relay leaks) and H72 (tongs at a live element) of this project's own list; the
isolator before work on live parts is common practice and every electrical code.
"""

import pytest

from kilnctl.cli.oven.oven_file.check import report
from kilnctl.config import home
from kilnctl.config.oven import Oven, load_oven
from kilnctl.dashboard.formatting import heat_words
from kilnctl.link.snapshot import Waiting
from kilnctl.profile.segments import Operator
from kilnctl.treatment.job_file import load_job
from kilnctl.treatment.segments.live_elements import opens_the_oven, told_of_live_elements

FURNACE = load_oven(home.bundled("ovens") / "hardening-furnace.toml")


def bare(door: bool, contactor: bool) -> Oven:
    signal = FURNACE.signal if door else FURNACE.signal.model_copy(update={"door_open": None})
    output = FURNACE.output if contactor else FURNACE.output.model_copy(update={"contactor": None})
    return FURNACE.model_copy(update={"signal": signal, "output": output})


def steps(oven: Oven, job: str = "gouge-o1-harden") -> list[Operator]:
    made = load_job(job, oven).profile.segments
    return [s for s in made if isinstance(s, Operator) and opens_the_oven(s)]


@pytest.mark.parametrize("contactor", [False, True])
@pytest.mark.parametrize("job", ["gouge-o1-harden", "drawknife-5160-normalise"])
def test_without_a_door_switch_every_open_oven_is_isolated_first(job: str, contactor: bool) -> None:
    found = steps(bare(False, contactor), job)
    assert found
    for step in found:
        assert "LIVE" in step.say
        assert FURNACE.isolator in step.say
        assert step.say.index("LIVE") < step.say.index("Answer done")


def test_a_hold_for_a_persons_hands_is_among_them_and_a_file_test_is_not() -> None:
    """A piece taken out at a confirm while the oven holds; the check after a quench is done at the bench."""
    steps_of = {"step": "confirm", "say": "Take it out.", "at_most_s": 60.0}
    assert opens_the_oven(Operator.model_construct(**steps_of, hold_c=200.0))
    assert not opens_the_oven(Operator.model_construct(**steps_of, hold_c=None))
    assert not opens_the_oven(Operator.model_construct(**{**steps_of, "step": "check"}, hold_c=None))


def test_a_door_switch_without_a_contactor_leaves_a_relay_that_leaks() -> None:
    for step in steps(bare(True, False)):
        assert "may leak or be stuck" in step.say


def test_a_door_switch_with_a_contactor_needs_no_word_and_none_is_said_twice() -> None:
    assert all("LIVE" not in s.say and "leak" not in s.say for s in steps(FURNACE))
    oven = bare(False, False)
    profile = load_job("gouge-o1-harden", oven).profile
    assert told_of_live_elements(profile, oven) == profile


def test_the_oven_check_says_that_a_relay_never_isolates() -> None:
    said = " ".join(bare(False, False).weaker) + " ".join(report(bare(False, False), "x"))
    assert "never isolates" in said
    assert "can kill" in said


@pytest.mark.parametrize(("isolated", "says"), [(True, False), (False, True)])
def test_the_screen_says_that_the_element_is_live(isolated: bool, says: bool) -> None:
    assert ("LIVE" in heat_words(Waiting("load", "Put it in.", 0.0, 60.0, True, isolated))) is says
