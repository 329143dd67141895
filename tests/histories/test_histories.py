"""Random histories over real bytes: a short sample in every run, the long ones by name.

python -m pytest tests/histories/test_histories.py -m on_demand -s
"""

import os
import time
from pathlib import Path

import pytest
from histories.campaign import many, summary
from histories.history import drawn

FEW, SAMPLE, WHOLE = 6, 40, 2000
pytestmark = [pytest.mark.real_bytes, pytest.mark.slow]


def side_by_side() -> int:
    """Return how many histories this machine plays at once: most of a history is waiting."""
    return 4 * (os.cpu_count() or 1)


@pytest.mark.parametrize("count", [FEW, pytest.param(SAMPLE, marks=pytest.mark.on_demand)])
def test_a_sample_of_short_histories(count: int) -> None:
    began_s = time.monotonic()
    results = list(many(range(1, count + 1), side_by_side(), loading=count))
    print(f"\n{summary(results)} in {time.monotonic() - began_s:.0f} s")
    assert {r["seed"]: r["wrong"] for r in results if r["wrong"]} == {}


@pytest.mark.on_demand
def test_two_thousand_long_histories(tmp_path: Path) -> None:
    results = list(many(range(1, WHOLE + 1), side_by_side(), long=True, loading=10))
    print(f"\n{summary(results)}")
    assert {r["seed"]: r["wrong"] for r in results if r["wrong"]} == {}


def test_a_seed_always_draws_the_same_history() -> None:
    assert [drawn(seed, long=True) for seed in range(50)] == [drawn(seed, long=True) for seed in range(50)]
    assert len({str(drawn(seed)) for seed in range(50)}) == 50
