"""The whole two-temper recipe over real bytes at sixty times real time: how late the ticks were.

    python -m pytest tests/bench/test_sixty_times.py -s -m on_demand

Asked: no deadline missed by more than one tick (1 s of the heat, 16.7 ms of real time).
"""

import json
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from shop import Shop

from kilnctl.logbook.readers import Reader

SPEED = 60


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[Shop]:
    made = Shop(tmp_path, SPEED)
    yield made
    made.close()


def lateness(shop: Shop, *job: str) -> None:
    shop.simulate()
    words = ("run", *job, "--oven", str(shop.oven), "--time-scale", str(SPEED), "--json")
    done = shop.run(*words, timeout_s=1800.0)
    summary = json.loads(done.stdout.splitlines()[-1])
    with Reader(shop.folder / "home" / "logbook.sqlite") as reader:
        elapsed_s = reader.samples(int(summary["run"]))["elapsed_s"]
    late_s = np.diff(elapsed_s) - 1.0
    missed = int((late_s > 1.0).sum())
    p999 = float(np.quantile(late_s, 0.999))
    print(
        f"\n{summary['outcome']}: {len(elapsed_s)} ticks, {missed} more than one tick late (asked 0), "
        f"worst {late_s.max():.2f} s of the heat, 99.9 % within {p999:.2f} s"
    )


@pytest.mark.on_demand
def test_the_whole_recipe(shop: Shop) -> None:
    lateness(shop, "gouge-o1-temper")


@pytest.mark.on_demand
def test_half_a_minute_of_it(shop: Shop) -> None:
    lateness(shop, "--soak", "60C", "--for", "20min")
