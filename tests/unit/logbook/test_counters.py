"""What a run used up, on samples counted by hand."""

import pytest
from heats import samples

from kilnctl.logbook import blocks
from kilnctl.logbook.counters import Counts, counts_of


def test_nothing_was_used_up_by_nothing() -> None:
    assert counts_of(blocks.to_ints([])) == Counts()


def test_seconds_on_closures_and_seconds_hot_are_counted() -> None:
    """Six samples a second apart, on, on, off, on, on, on; the last stands for no time of its own."""
    base = samples(6)
    made = [
        s._replace(elapsed_s=float(i), heat_on=on, process_c=690.0 + 5.0 * i, part_c=None)
        for i, (s, on) in enumerate(zip(base, (True, True, False, True, True, True), strict=True))
    ]
    found = counts_of(blocks.to_ints(made))
    assert (found.element_s, found.closures) == (4.0, 2)
    assert found.over_700_s == 2.0
    assert found.peak_c == pytest.approx(715.0)


def test_over_a_gap_nobody_knows_what_the_heater_did() -> None:
    first, last = samples(2)
    made = [first._replace(elapsed_s=0.0, heat_on=True), last._replace(elapsed_s=3600.0, heat_on=True)]
    assert counts_of(blocks.to_ints(made)).element_s == 10.0
