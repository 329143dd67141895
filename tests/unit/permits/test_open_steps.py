import pytest

from kilnctl.config import home
from kilnctl.config.oven import load_oven
from kilnctl.permits.fingerprint import fingerprint
from kilnctl.permits.needed_steps import needs
from kilnctl.permits.open_steps import StepResult, open_or_overdue
from kilnctl.units import DAY_S

NOW = 1_800_000_000.0


@pytest.fixture
def oven():
    return load_oven(home.bundled("ovens") / "hardening-furnace.toml")


def fresh(names, **changes):
    furnace = load_oven(home.bundled("ovens") / "hardening-furnace.toml")
    return {
        name: StepResult(True, NOW - DAY_S, 5.0, NOW + DAY_S, "abc", rests_on=fingerprint(name, furnace))
        for name in names
    } | changes


def test_what_is_missing_failed_expired_or_of_another_file_is_named(oven):
    steps = needs("live", oven)
    names = [step.name for step in steps]
    assert open_or_overdue(steps, fresh(names), NOW, oven, "abc") == ()
    assert open_or_overdue(steps, {}, NOW, oven, "abc") == tuple(f"{name}: never done" for name in names)
    expired = {"dead-man test": StepResult(True, NOW - 91 * DAY_S, 5.0, NOW - DAY_S, "abc")}
    assert open_or_overdue(steps, fresh(names, **expired), NOW, oven, "abc") == (
        "dead-man test: expired 1 day ago",
    )
    failed = {"drop test": StepResult(False, NOW)}
    assert open_or_overdue(steps, fresh(names, **failed), NOW, oven, "abc") == ("drop test: failed today",)
    changed = open_or_overdue(steps, fresh(names), NOW, oven, "another")
    assert changed == ("oven file: the file has changed since it was confirmed",)
    future = {"cold check": StepResult(True, NOW + 3 * DAY_S)}
    assert "future" in open_or_overdue(steps, fresh(names, **future), NOW, oven, "abc")[0]
