"""Every bundled recipe plans on its ovens, and says why at every step."""

import contextlib
import functools

import pytest

from kilnctl.config.home import bundled
from kilnctl.config.oven import load_oven
from kilnctl.errors import RunRefused
from kilnctl.model.part import inside
from kilnctl.profile.segments import Operator, Soak
from kilnctl.treatment.job_file import load_job
from kilnctl.treatment.planning import Plan
from kilnctl.treatment.recipe.recipes import load_recipe

OVENS = {
    name: load_oven(bundled("ovens") / f"{name}.toml") for name in ("hardening-furnace", "tempering-oven")
}
PAIRS = [
    (path.stem, oven)
    for path in sorted(bundled("recipes").glob("*.toml"))
    for oven in sorted({t.oven or load_recipe(path).oven for t in load_recipe(path).treatment})
]


@functools.cache
def job(name: str, oven: str) -> Plan:
    """Return the plan of a bundled recipe, made once for all checks."""
    return load_job(bundled("recipes") / f"{name}.toml", OVENS[oven])


@pytest.mark.parametrize(("name", "oven"), PAIRS)
def test_bundled_recipe_plans_and_explains_itself(name: str, oven: str) -> None:
    made = job(name, oven)
    for row in made.rows:
        assert row.why, row
        assert row.source, row
        assert row.duration_s >= 0
    assert made.rows[0].start_s == 0
    assert made.total_s == pytest.approx(sum(row.duration_s for row in made.rows))
    assert 0 < made.energy_kwh < 0.001 * OVENS[oven].power_w * made.total_s / 3600


@pytest.mark.parametrize(("name", "oven"), PAIRS)
def test_a_part_clock_never_runs_without_a_part_inside(name: str, oven: str) -> None:
    profile = job(name, oven).profile
    for n, segment in enumerate(profile.segments):
        if isinstance(segment, Soak) and segment.clock == "part":
            assert inside(profile, n), f"step {n + 1} waits for a part that is outside"


@pytest.mark.parametrize(("name", "oven"), PAIRS)
def test_nobody_is_waited_for_without_end(name: str, oven: str) -> None:
    profile = job(name, oven).profile
    for segment in profile.segments:
        if isinstance(segment, Operator) and segment.hold_c is not None:
            assert 0 < segment.at_most_s <= 4 * 3600


@pytest.mark.parametrize("name", sorted({name for name, _ in PAIRS}))
def test_a_bundled_recipe_elsewhere_is_refused_or_says_first_what_differs(name: str) -> None:
    mine = {oven for n, oven in PAIRS if n == name}
    for oven in set(OVENS) - mine:
        with contextlib.suppress(RunRefused):
            plan = job(name, oven)
            assert "the recipe is written for" in plan.warnings[0]
            assert oven in plan.warnings[0]


def test_a_normalise_never_runs_on_a_tempering_oven() -> None:
    with pytest.raises(RunRefused, match="tempering-oven"):
        load_job(bundled("recipes") / "drawknife-5160-normalise.toml", OVENS["tempering-oven"])
