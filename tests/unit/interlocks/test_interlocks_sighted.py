"""An interlock that calls itself blind on an oven is not asked there: it must have nothing to say, ever."""

import random
import re
from pathlib import Path
from typing import Any, get_type_hints

import pytest

from kilnctl.config.home import bundled
from kilnctl.config.oven import Oven, load_oven
from kilnctl.errors import ConfigError
from kilnctl.interlocks import INTERLOCKS, Thresholds, build
from kilnctl.interlocks.contract import sighted
from kilnctl.model.nameplate import nameplate
from kilnctl.readings import LinkHealth, Observation, Quality, Reading, Scan, Unlike
from kilnctl.tomlfile import loads

TICKS = 300
OVENS = [
    loads(toml, Oven, ConfigError, page.name)
    for page in sorted(Path("kilnctl/guide/connect").glob("*.md"))
    for toml in re.findall(r"```toml\n(.*?)```", page.read_text(encoding="utf-8"), re.DOTALL)
] + [load_oven(path) for path in sorted(bundled("ovens").glob("*.toml"))]
SIGNALS = [name for name in get_type_hints(Scan) if name in get_type_hints(type(OVENS[0].signal))]


def wild(oven: Oven, learned: bool, dice: random.Random, at_s: float) -> Observation:
    """Return an observation as alarming as dice make it, by no more than this oven can tell."""

    def reading() -> Reading:
        if dice.random() < 0.1:
            return Reading.bad(dice.choice(list(Quality)), "wild", at_s)
        return Reading.of(dice.uniform(-100.0, 1500.0), at_s, dice.randrange(5))

    hints, told = get_type_hints(Scan), dict[str, Any]()
    for name in SIGNALS:
        if getattr(oven.signal, name) is not None:
            told[name] = reading() if "Reading" in str(hints[name]) else dice.choice((True, False, None))
    starts = any(d.kind == "line" or getattr(d, "banner", "") for d in oven.device.values())
    link = LinkHealth(dice.uniform(0.0, 9.0), 2, dice.random(), dice.randrange(9), starts * int(at_s))
    scan = Scan(at_s=at_s, heat_on=dice.choice((True, False, None)), link=link, **told)
    return Observation(
        scan,
        at_s,
        dt_s=dice.uniform(0.5, 20.0),
        real_dt_s=1.0,
        late_s=dice.uniform(0.0, 9.0),
        heating_allowed=dice.random() < 0.8,
        heat_asked=dice.random() < 0.5,
        duty_asked=dice.random(),
        setpoint_c=dice.choice((None, 20.0, 500.0)),
        segment_kind=dice.choice(("ramp", "soak", "operator")),
        run_max_c=500.0,
        limit_c=oven.limit_c,
        ambient_c=20.0,
        others={},
        unexplained=dice.uniform(-1.0, 1.0) if learned else None,
        unlike=Unlike(0.4, 2.0, 3.0, 3.0) if learned else None,
        drawn=dice.uniform(0.5, 2.0) if oven.signal.current_a is not None else None,
        unattended=dice.random() < 0.5,
    )


@pytest.mark.parametrize("learned", [False, True])
@pytest.mark.parametrize("oven", OVENS, ids=lambda oven: oven.name)
def test_what_is_blind_on_an_oven_never_speaks_there(oven: Oven, learned: bool) -> None:
    limits = Thresholds.of(oven, nameplate(oven) if learned else None)
    judges, fresh = build(oven, limits), build(oven, limits)
    asked, dice = sighted(judges), random.Random(oven.name)
    for tick in range(TICKS):
        seen = wild(oven, learned, dice, float(tick))
        said = [judge.kind for judge in judges if judge not in asked and judge.check(seen) is not None]
        assert not said, f"{said} on {oven.name} in tick {tick}: {seen}"
    for judge, new in zip(judges, fresh, strict=True):
        assert judge in asked or judge.distance() == new.distance(), judge.kind


def test_with_every_signal_and_learned_all_are_asked(oven: Oven) -> None:
    judges = build(oven, Thresholds.of(oven, nameplate(oven)))
    left = {judge.kind for judge in judges} - {judge.kind for judge in sighted(judges)}
    assert left == set()
    assert len(judges) == len(INTERLOCKS)
