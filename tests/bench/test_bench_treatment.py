"""What planning and the part estimate cost. Prints a table; run by name: pytest -m on_demand -s this file."""

import time
from collections.abc import Callable

import pytest

from kilnctl.config.home import bundled
from kilnctl.config.oven import load_oven
from kilnctl.model.part import advance, slab, start
from kilnctl.treatment.job_file import load_job, oven_of
from kilnctl.treatment.steel.steels import load_steel
from kilnctl.treatment.steel.temper.dose import advance_dose, start_dose

pytestmark = pytest.mark.on_demand


def microseconds(once: Callable[[], object], times: int) -> float:
    begun = time.perf_counter()
    for _ in range(times):
        once()
    return (time.perf_counter() - begun) / times * 1e6


def test_print_what_a_tick_and_a_plan_cost() -> None:
    rows: list[tuple[str, float, str]] = []
    for thickness_mm, asked in ((6.0, "20 µs"), (40.0, "100 µs")):
        model = slab(thickness_mm)
        state = advance(model, start(model, 20.0), 830.0, 1.0)
        cost = microseconds(lambda model=model, state=state: advance(model, state, 830.0, 1.0), 20_000)
        rows.append((f"part, {model.layers} layer(s), 1 s", cost, asked))
    dose = advance_dose(start_dose(218.0, 7200.0, 0.9), 218.0, 600.0)
    rows.append(("temper dose, 1 s", microseconds(lambda: advance_dose(dose, 217.5, 1.0), 20_000), "-"))
    rows.append(("one steel card", microseconds(lambda: load_steel("O1"), 10), "-"))
    for path in sorted(bundled("recipes").glob("*.toml")):
        oven = load_oven(bundled("ovens") / f"{oven_of(path)}.toml")
        cost = microseconds(lambda path=path, oven=oven: load_job(path, oven), 2)
        rows.append((f"plan {path.stem}", cost, "1,000,000 µs"))
    for what, cost, asked in rows:
        print(f"{what:45} {cost:12.1f} µs   asked {asked}")
    assert rows
