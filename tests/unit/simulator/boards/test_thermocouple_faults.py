"""Wrong couples with their terminals at 0 degC, worked from the ITS-90 tables (NIST Monograph 175)."""

import pytest

from simulator.boards.thermocouple_faults import KINDS, shown_c


@pytest.mark.parametrize(
    ("kind", "true_c", "expected_c"), [("k-as-j", 830.0, 623.7), ("j-as-k", 750.0, 1025.9)]
)
def test_wrong_type(kind: str, true_c: float, expected_c: float) -> None:
    assert shown_c(kind, true_c, 0.0, 60.0) == pytest.approx(expected_c, abs=0.5)


def test_reversed_leads_end_below_the_table() -> None:
    assert shown_c("reversed", 200.0, 25.0, 60.0) < -200.0
    assert shown_c("reversed", 600.0, 25.0, 60.0) == -270.0


@pytest.mark.parametrize("kind", KINDS)
def test_a_junction_at_the_terminals_reads_right_unless_the_head_is_warm(kind: str) -> None:
    assert shown_c(kind, 25.0, 25.0, 25.0) == pytest.approx(25.0, abs=1.0)
