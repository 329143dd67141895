"""One falling ladder for each card; the heats and hardnesses are rows of the cards themselves."""

from itertools import pairwise

import pytest

from kilnctl.config.home import known
from kilnctl.treatment.steel.steels import load_steel
from kilnctl.treatment.steel.temper.joined_ladder import at_hardness_c, joined_ladder, rows_apart_k


@pytest.mark.parametrize("grade", sorted(known("steels")))
def test_it_falls_throughout(grade: str) -> None:
    for (cooler_c, harder), (hotter_c, softer) in pairwise(joined_ladder(load_steel(grade))):
        assert cooler_c <= hotter_c
        assert harder > softer


def test_a_ladder_goes_on_beyond_its_end_where_the_next_one_is() -> None:
    """1095: the first table ends at 343 degC with 53.5; the next goes on from 371 with 49."""
    ladder = joined_ladder(load_steel("1095"))
    assert ladder[7:9] == [(343.0, 53.5), (371.0, 49.0)]


def test_a_table_that_begins_beyond_the_end_is_not_read_between() -> None:
    """D2: 55.5 HRC at 400 degC; hotter, another table is harder first and comes to 55.5 only near 540."""
    ladder = joined_ladder(load_steel("D2"))
    after = ladder[[at_c for at_c, _ in ladder].index(400.0) + 1]
    assert after[0] == pytest.approx(541.0, abs=1.0)


def test_a_hardness_between_two_rows_and_beyond_the_ends() -> None:
    """W2: 62 at 204 and 59 at 260 degC; it begins with 65 at 149 and ends with 55 at 316."""
    ladder = joined_ladder(load_steel("W2"))
    assert at_hardness_c(ladder, 60.5) == pytest.approx(232.0)
    assert (at_hardness_c(ladder, 70.0), at_hardness_c(ladder, 40.0)) == (149.0, 316.0)


def test_rows_that_are_too_far_apart_are_named() -> None:
    """14C28N: 63 at 175 and 53 at 350 degC, and nothing between."""
    ladder = joined_ladder(load_steel("14C28N"))
    assert rows_apart_k(ladder, 260.0) == 175.0
    assert rows_apart_k(ladder, 176.0) == 0.0
