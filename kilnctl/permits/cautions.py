"""The words of caution with live values, and how the first readings before heat are judged."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache
from typing import ClassVar

from kilnctl.clock import say_day
from kilnctl.config import home
from kilnctl.config.oven import Oven
from kilnctl.errors import ConfigError
from kilnctl.model.part import inside
from kilnctl.permits.open_steps import StepResult
from kilnctl.profile.segments import Profile, Ramp, Soak
from kilnctl.profile.segments import goal_c as goal_of
from kilnctl.readings import Reading, Scan
from kilnctl.tomlfile import Strict, load
from kilnctl.units import say_point

ASK_K, REFUSE_K = 5.0, 8.0
# What a shop without a room sensor may have; a module in degF shows 68 at 20 degC.
SHOP_LOW_C, SHOP_HIGH_C = -5.0, 40.0
# After this long any oven of these sizes is cold.
COLD_AFTER_H = 24.0
# By so much an oven may be above the first goal of a job whose part is inside from the start. The project's
# own number: more than a temper's margin (10 K) and a sensor's class together, so that a warm oven is no bar.
HOTTER_K = 20.0
NO_POWER_BACK = "stay off"


class Cautions(Strict):
    """The words of profiles/cautions.toml."""

    raw: ClassVar[tuple[str, ...]] = ("before_anything",)

    always: str
    attended: str
    unattended: tuple[str, ...]
    unattended_means: str
    before_anything: str


@cache
def cautions() -> Cautions:
    """Return the words of caution. Raises ConfigError when the file is damaged."""
    return load(home.bundled("cautions.toml"), Cautions, ConfigError)


MEANS = ("horn", "lamp", "bell", "messages")


def told_by(oven: Oven, done: StepResult | None) -> str:
    """Say by which means somebody is called, and which of them were tested when; none guards anything."""
    tested = done.data.get("tested", {}) if done is not None else {}
    day = "" if done is None else say_day(done.utc_s)
    said = []
    for means in MEANS:
        if means in ("horn", "lamp") and getattr(oven.output, means) is None:
            said.append(f"{means} not fitted")
        elif means in tested:
            said.append(f"{means} {'tested' if tested[means] == 'yes' else 'FAILED its test'} {day}")
        else:
            said.append(f"{means} never tested")
    return f"Alerts reach you by: {', '.join(said)}. None of them makes the oven safe."


def unattended_lines(oven: Oven, done: Mapping[str, StepResult], resume_min: float | None) -> tuple[str, ...]:
    """Return the lines of an unattended heat, with live values.

    `resume_min` is within how many minutes a key lets a temper go on after a power cut; None: it stays off.
    """
    limit, dead_man = done.get("limit test"), done.get("dead-man test")
    resume = (
        NO_POWER_BACK
        if resume_min is None
        else f"resume a temper once, if somebody presses the key at the machine within {resume_min:g} min"
    )
    date = "never" if limit is None else say_day(limit.utc_s)
    seconds = "never" if dead_man is None or dead_man.value is None else f"{dead_man.value:.1f}"
    values = {"limit_date": date, "dead_man_s": seconds, "resume": resume}
    return tuple(fill(line, oven, **values) for line in cautions().unattended)


def fill(line: str, oven: Oven, **values: str) -> str:
    """Return a line of caution with the oven's isolator, and further values."""
    return line.format(isolator=oven.isolator, **values)


def on_screen(oven: Oven) -> str:
    """Return the line that is always in sight."""
    return fill(cautions().always, oven)


@dataclass(frozen=True, slots=True)
class StartCheck:
    """How the readings look before heat: `refuse` names what is wrong, `ask` what a person must confirm.

    `ask` maps what is doubtful to the question about it.
    """

    refuse: tuple[str, ...] = ()
    ask: Mapping[str, str] = field(default_factory=dict)


def first_goal_c(profile: Profile) -> float | None:
    """Return what the first step of a job asks of an oven that has the part in it; None where none is."""
    first = profile.segments[0]
    return goal_of(first) if isinstance(first, Ramp | Soak) and inside(profile, 0) else None


def check_start(scan: Scan, hours_since_heat: float | None, goal_c: float | None = None) -> StartCheck:
    """Judge the first readings. Unit, scale and cold-junction faults show while the oven is cold.

    `hours_since_heat` since the last heat of this oven ended, None where none is known. `goal_c` is the first
    goal of a part that is inside from the start: in an oven hotter than that it would be spoiled unseen.
    """
    process = scan.process
    if not process.good or process.value is None:
        return StartCheck((f"no temperature: {process.quality}",))
    refuse: list[str] = []
    ask: dict[str, str] = {}
    _judge_pair(scan.second, process.value, "the second sensor", refuse, ask)
    if goal_c is not None and process.value > goal_c + HOTTER_K:
        refuse.append(
            f"it is still at {say_point(process.value)} and this job begins with its part inside at "
            f"{say_point(goal_c)}: keep the part out until the oven is no hotter than that, then start"
        )
    if hours_since_heat is None or hours_since_heat >= COLD_AFTER_H:
        room = scan.ambient if scan.ambient is not None else scan.cold_junction
        if room is not None and room.value is not None:
            _judge_pair(room, process.value, "the room", refuse, ask)
        elif not SHOP_LOW_C <= process.value <= SHOP_HIGH_C:
            refuse.append(f"a cold oven reads {say_point(process.value)}: unit, scale or sensor is wrong")
    if scan.limit_open:
        refuse.append("the independent limit is open; find out why, then reset it by hand")
    if scan.door_open:
        refuse.append("the door is open")
    return StartCheck(tuple(refuse), ask)


def _judge_pair(
    other: Reading | None, process_c: float, what: str, refuse: list[str], ask: dict[str, str]
) -> None:
    if other is None or other.value is None:
        return
    gap_k = abs(process_c - other.value)
    if gap_k > REFUSE_K:
        refuse.append(f"the sensor reads {process_c:.0f} °C and {what} {other.value:.0f} °C")
    elif gap_k > ASK_K:
        ask[what] = f"the sensor and {what} differ by {gap_k:.0f} K; is that right?"
