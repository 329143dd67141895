"""A question is answered once, soon, and for the oven and job that it was about."""

import pytest

from kilnctl.clock import VirtualClock
from kilnctl.permits.challenge import FRESH_S, MOST, Challenges


@pytest.fixture
def clock():
    """A computer that has been on for a day."""
    clock = VirtualClock()
    clock.advance(86_400.0)
    return clock


def test_an_answer_counts_once_for_its_own_job(clock):
    asked = Challenges(clock)
    challenge = asked.ask("temper on A")
    assert asked.why_not(challenge, "temper on A") == ""
    assert "another job" in asked.why_not(challenge, "temper on B")
    asked.use(challenge)
    assert "answered before" in asked.why_not(challenge, "temper on A")
    assert not asked.waiting


def test_an_answer_comes_within_ten_minutes(clock):
    asked = Challenges(clock)
    challenge = asked.ask("job")
    clock.advance(FRESH_S - 1.0)
    assert asked.why_not(challenge, "job") == ""
    assert asked.waiting
    clock.advance(2.0)
    assert "older than 10 min" in asked.why_not(challenge, "job")
    assert not asked.waiting


@pytest.mark.parametrize("made_up", ["", "0" * 32, "job"])
def test_a_challenge_that_was_made_up_counts_nothing(clock, made_up):
    asked = Challenges(clock)
    asked.ask("job")
    assert asked.why_not(made_up, "job")


def test_two_questions_differ_and_only_the_newest_are_remembered(clock):
    asked = Challenges(clock)
    first = asked.ask("job")
    rest = [asked.ask("job") for _ in range(MOST)]
    assert len({first, *rest}) == MOST + 1
    assert asked.why_not(first, "job")
    assert all(asked.why_not(one, "job") == "" for one in rest)
