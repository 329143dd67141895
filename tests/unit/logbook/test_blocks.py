"""Blocks of samples: whatever rows go in come back."""

from hypothesis import given, settings
from hypothesis import strategies as st

from kilnctl.logbook import blocks

WHOLE = st.one_of(st.integers(-(2**55), 2**55), st.just(int(blocks.NULL)))


@settings(max_examples=100, deadline=None)
@given(st.lists(st.lists(WHOLE, min_size=21, max_size=21), min_size=1, max_size=70))
def test_any_rows_come_back_from_a_block(rows: list[list[int]]) -> None:
    import numpy as np

    ints = np.array(rows, dtype=np.int64)
    assert np.array_equal(blocks.unpack(blocks.pack(ints), len(rows)), ints)
    assert blocks.wrong_rows(ints, blocks.row_checks(ints)) == []
