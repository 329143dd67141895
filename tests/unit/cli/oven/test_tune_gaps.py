"""What `tune` refuses to learn from: a record in which readings are missing."""

import numpy as np
import pytest

from kilnctl.cli.oven.tune import evenly, refuse_gaps, second_gap_k
from kilnctl.errors import RunRefused


def record(missing=()):
    """Return the columns of a whole record, or of one whose readings at some seconds were bad."""
    at_s = np.arange(0.0, 3000.0)
    process_c = 20.0 + 0.05 * at_s
    process_c[list(missing)] = np.nan
    return {"elapsed_s": at_s, "process_c": process_c, "heat_on": np.ones_like(at_s)}


def test_a_whole_record_and_one_that_lacks_single_readings_are_learned_from():
    refuse_gaps(record(), 1.0)
    refuse_gaps(record(range(100, 3000, 30)), 1.0)
    assert len(evenly(record(), 1.0)[0]) == 2999


@pytest.mark.parametrize(
    "missing", [range(500, 512), range(100, 3000, 10)], ids=["a pause of twelve seconds", "one in ten"]
)
def test_a_record_with_gaps_is_refused_with_their_number(missing):
    with pytest.raises(RunRefused, match=r"\d+ gaps, the longest \d+ s"):
        refuse_gaps(record(missing), 1.0)


def test_what_the_second_sensor_read_beside_the_first_is_learned_but_for_single_spikes():
    columns = record()
    columns["second_c"] = columns["process_c"] + np.linspace(-2.0, 40.0, 3000)
    columns["second_c"][[50, 900]] = 900.0
    low_k, high_k = second_gap_k(columns)
    assert (low_k, high_k) == pytest.approx((-2.0, 40.0), abs=0.3)
    columns["second_c"] = np.full(3000, np.nan)
    assert second_gap_k(columns) is None
