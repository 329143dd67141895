import re

import pytest

from kilnctl.commissioning import results
from kilnctl.config import home
from kilnctl.config.oven import load_oven
from kilnctl.logbook.entries import CommissioningStep, LearnedOven, add
from kilnctl.logbook.readers import Reader
from kilnctl.logbook.writer import Logbook
from kilnctl.permits import step_results
from kilnctl.permits.fingerprint import fingerprint
from kilnctl.permits.open_steps import open_or_overdue
from kilnctl.permits.setup_steps import STEPS, find_step
from kilnctl.units import DAY_S

NOW = 1_800_000_000.0


@pytest.fixture
def book():
    with Logbook(None) as one:
        yield one


@pytest.fixture
def oven():
    return load_oven(home.bundled("ovens") / "tempering-oven.toml")


def test_a_step_is_dated_valued_and_expires(book, oven):
    step = find_step("dead-man test")
    step_results.keep(book, oven, "text", step, True, NOW, value=6.0, who="me")
    done = step_results.results(Reader(book.connection), oven.name)["dead-man test"]
    assert (done.passed, done.value, done.utc_s) == (True, 6.0, NOW)
    assert done.expires_utc == NOW + 90 * DAY_S
    assert done.oven_hash == step_results.hash_of("text")


def test_a_value_outside_the_limits_is_stored_as_failed(book, oven):
    kept = step_results.keep(book, oven, "text", find_step("limit test"), True, NOW, value=180.0)
    assert not kept.passed


def test_the_newest_result_counts(book, oven):
    step = find_step("drop test")
    step_results.keep(book, oven, "text", step, True, NOW)
    step_results.keep(book, oven, "text", step, False, NOW + 1)
    assert not step_results.results(Reader(book.connection), oven.name)["drop test"].passed


def test_the_walk_goes_on_where_it_was_left(book, oven):
    for step in STEPS[:3]:
        step_results.keep(book, oven, "text", step, True, NOW)
    done = step_results.results(Reader(book.connection), oven.name)
    still = open_or_overdue(STEPS, done, NOW, oven, step_results.hash_of("text"))
    assert len(still) == len(STEPS) - 3


def test_a_learned_model_counts_as_its_step(book, oven):
    add(book, LearnedOven(oven.name, {"element": 1.0}, rests_on=fingerprint("learn", oven)), NOW)
    assert step_results.results(Reader(book.connection), oven.name)["learn"].passed


def test_the_listing_shows_done_and_open_in_words(book, oven):
    step_results.keep(book, oven, "text", find_step("dead-man test"), True, NOW, value=6.0)
    done = step_results.results(Reader(book.connection), oven.name)
    lines = results.listing(done, NOW + DAY_S, oven, step_results.hash_of("text"))
    assert len(lines) == len(STEPS)
    text = next(line for line in lines if "dead-man test" in line)
    assert "6 s" in text
    assert "89 days left" in text
    assert sum(line.startswith("open") for line in lines) == len(STEPS) - 1


def test_a_reason_that_is_a_sentence_ends_with_one_full_stop(book, oven):
    """Said: "give sensor and thermometer an hour.. Until cold check has passed"."""
    step = find_step("cold check")
    kept = step_results.keep(book, oven, "text", step, False, NOW, note="Give the sensor an hour.")
    assert "an hour. Until cold check has passed" in results.failed(kept, step)


@pytest.mark.parametrize("why", ["has it changed?", "it fell.", "it fell"])
def test_a_reason_ends_with_one_mark(why: str) -> None:
    """ "has it changed?. Until heater pulse" """
    kept = CommissioningStep("oven", "heater pulse", False, note=why)
    assert not re.search(r"[?.!]\.", results.failed(kept, find_step("heater pulse")))
