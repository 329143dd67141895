"""An oven with every signal fitted, and a way to let an interlock watch seconds go by."""

from collections.abc import Callable, Mapping
from dataclasses import fields, replace
from typing import Any, cast

import pytest

from kilnctl.config import home
from kilnctl.config.oven import Oven, load_oven
from kilnctl.errors import ConfigError
from kilnctl.interlocks import Interlock, Thresholds
from kilnctl.readings import Alarm, LinkHealth, Observation, Reading, Scan, Trip
from kilnctl.tomlfile import loads

EVERY_SIGNAL = """
[signal.second]
device = "board"
table = "input"
register = 20
scale = 0.1
unit = "C"
low = "-30 C"
high = "1300 C"

[signal.cold_junction]
device = "board"
table = "input"
register = 21
scale = 0.1
unit = "C"
low = "-30 C"
high = "130 C"

[signal.enclosure]
device = "board"
table = "input"
register = 22
scale = 0.1
unit = "C"
low = "-30 C"
high = "130 C"

[signal.supply_v]
device = "board"
table = "input"
register = 23

[signal.fan_on]
device = "board"
table = "discrete"
register = 10

[signal.smoke]
device = "board"
table = "discrete"
register = 11

[signal.limit_open]
device = "board"
table = "discrete"
register = 12
"""

Verdict = Trip | Alarm
Change = Mapping[str, Any] | Callable[[float], Mapping[str, Any]]
SCAN_FIELDS = {field.name for field in fields(cast(Any, Scan))}
QUIET = Observation(
    scan=Scan(0.0, Reading.of(500.0, 0.0, 5000), heat_on=True, link=LinkHealth(0.05)),
    at_s=0.0,
    dt_s=1.0,
    real_dt_s=1.0,
    late_s=0.0,
    heating_allowed=True,
    heat_asked=True,
    duty_asked=1.0,
    setpoint_c=500.0,
    segment_kind="soak",
    run_max_c=830.0,
    limit_c=1100.0,
    ambient_c=20.0,
    others={},
)


def seen_at(at_s: float, **changes: Any) -> Observation:
    """Return a quiet tick of a soak at 500 degC, changed; `process_c` and keys of Scan go into the scan."""
    process = changes.pop(
        "process", Reading.of(changes.pop("process_c", 500.0), at_s, changes.pop("raw", at_s))
    )
    scan = {key: changes.pop(key) for key in list(changes) if key in SCAN_FIELDS}
    look = replace(QUIET.scan, at_s=at_s, process=process, **scan)
    return replace(QUIET, at_s=at_s, scan=look, **changes)


def watch(interlock: Interlock, seconds: float, change: Change, start_s: float = 0.0) -> Verdict | None:
    """Let an interlock watch seconds of one state (or of a state that is a function of time)."""
    for tick in range(int(seconds) + 1):
        at_s = start_s + tick
        changed = change(at_s) if callable(change) else change
        verdict = interlock.check(seen_at(at_s, **changed))
        if verdict is not None:
            return verdict
    return None


@pytest.fixture
def let_watch() -> Callable[..., Verdict | None]:
    """Return the function that lets an interlock watch."""
    return watch


@pytest.fixture
def stops() -> Callable[..., Trip]:
    """Return the function that lets an interlock watch until it cuts the heat, whatever it tells before."""

    def watch_on(interlock: Interlock, change: Change) -> Trip:
        for second in range(600):
            verdict = watch(interlock, 0, change, float(second))
            if isinstance(verdict, Trip):
                return verdict
        raise AssertionError("never stopped")

    return watch_on


@pytest.fixture
def seen() -> Callable[..., Observation]:
    """Return the function that makes one observation."""
    return seen_at


@pytest.fixture(scope="session")
def bare() -> Oven:
    """Return the bundled hardening furnace."""
    return load_oven(home.bundled("ovens") / "hardening-furnace.toml")


@pytest.fixture(scope="session")
def oven() -> Oven:
    """Return the bundled hardening furnace with every signal fitted."""
    text = (home.bundled("ovens") / "hardening-furnace.toml").read_text(encoding="utf-8")
    return loads(text + EVERY_SIGNAL, Oven, ConfigError, "every-signal.toml")


@pytest.fixture(scope="session")
def limits(oven: Oven) -> Thresholds:
    """Return the limits of that oven, not learned."""
    return Thresholds.of(oven)


@pytest.fixture
def make(oven: Oven, limits: Thresholds) -> Callable[..., Interlock]:
    """Return the function that makes an interlock of a class."""
    return lambda kind, on=oven, **changes: kind(on, replace(limits, **changes))


@pytest.fixture
def by_duty() -> Callable[[Oven], Oven]:
    """Return an oven's twin whose board makes the duty itself."""

    def twin(oven: Oven) -> Oven:
        heater = oven.output.heater.model_copy(update={"kind": "duty", "on": 1000})
        return oven.model_copy(update={"output": oven.output.model_copy(update={"heater": heater})})

    return twin
