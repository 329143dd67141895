"""An invented oven with a noisy sensor, and one heat on it under any controller. Virtual time, 1 s ticks."""

import copy
import random
from collections.abc import Callable
from dataclasses import dataclass, replace
from itertools import pairwise
from pathlib import Path
from typing import NamedTuple

from kilnctl.config.oven import Oven, load_oven
from kilnctl.control.heat_controller import ControlInput, HeatController
from kilnctl.control.time_proportioning import SwitchState, advance_switch, times_of
from kilnctl.profile.cursor import Cursor, advance, preview
from kilnctl.profile.segments import Profile, goal_c
from simulator.oven.ovens import random_oven
from simulator.oven.plant import Plant

OVENS = Path(__file__).parents[3] / "profiles/ovens"
NOISE_K, RESOLUTION_K = 0.15, 0.1
HARDENING = ("brick", "fibre", "heavy")


class Row(NamedTuple):
    """One tick: time, what the sensor really has, set-point, duty, relay."""

    at_s: float
    true_c: float
    setpoint_c: float
    duty: float
    on: bool
    mode: str
    note: str
    unexplained: float | None


@dataclass(frozen=True)
class Case:
    """One oven of a family under one set of circumstances."""

    family: str
    seed: int
    lag: float = 1.0
    volts: float = 1.0

    def plant(self) -> Plant:
        """Return the oven, cold."""
        plain = random_oven(self.family, self.seed)
        data = plain.data
        slow = replace(data, sheath=data.sheath * self.lag, junction_s=data.junction_s * self.lag)
        plant = Plant(slow, ambient_c=plain.ambient_c)
        plant.volts = data.supply_v * self.volts
        return plant

    def file(self, contactor: bool = False) -> Oven:
        """Return the oven file that its owner would write: no zones, the room as it is."""
        hot = self.family in HARDENING
        name = "hardening-furnace" if hot else "tempering-oven"
        oven = load_oven(OVENS / f"{name}.toml")
        changes = {"build": self.family, "zone": (), "ambient_c": self.plant().ambient_c}
        if self.family == "fan":
            changes |= {"limit_c": 330.0, "tune_ceiling_c": 300.0}
        if contactor:
            switch = {"kind": "contactor", "window_s": 30.0, "min_on_s": 3.0, "min_off_s": 3.0}
            changes["switching"] = oven.switching.model_copy(update=switch)
        return oven.model_copy(update=changes)


class Sensor:
    """What the controller may read: noise and resolution on the true value.

    The module measures anew every so many seconds; one reading in a minute may be a spike.
    """

    def __init__(
        self,
        seed: int = 0,
        noise_k: float = NOISE_K,
        resolution_k: float = RESOLUTION_K,
        every_s: int = 1,
        spike_k: float = 0.0,
    ) -> None:
        self._noise = random.Random(seed)
        self._noise_k, self._resolution_k, self._every_s = noise_k, resolution_k, every_s
        self._spike_k = spike_k
        self._reads, self._shown_c = 0, 0.0

    def read(self, plant: Plant) -> float:
        """Return one reading in degC."""
        if self._reads % self._every_s == 0:
            seen = plant.sensor.junction_c + self._noise.gauss(0.0, self._noise_k)
            if self._spike_k and self._noise.random() < 1 / 60:
                seen += self._noise.choice((-self._spike_k, self._spike_k))
            self._shown_c = round(seen / self._resolution_k) * self._resolution_k
        self._reads += 1
        return self._shown_c


Duty = Callable[[ControlInput], tuple[float, str, str, float | None, float | None]]


def ours(controller: HeatController) -> Duty:
    """Wrap kilnctl's controller for `heat`."""

    def step(look: ControlInput) -> tuple[float, str, str, float | None, float | None]:
        out = controller.step(look)
        return out.duty, out.mode, out.note, out.unexplained, out.window_s

    return step


def heat(
    plant: Plant,
    oven: Oven,
    duty_of: Duty,
    profile: Profile,
    event: Callable[[float, Plant], None] | None = None,
    longest_s: float = 60_000.0,
    direct: bool = False,
    sensor: Sensor | None = None,
) -> tuple[list[Row], SwitchState]:
    """Run a profile; `event` may disturb the plant each tick; `direct` bypasses time proportioning."""
    sensor = sensor or Sensor()
    cursor, switch, on = Cursor(), SwitchState(), False
    rows: list[Row] = []
    at_s = 0.0
    while at_s < longest_s:
        reading = sensor.read(plant)
        door = plant.door_open
        if not door:
            cursor = advance(profile, cursor, reading, None, 1.0)
        if cursor.over:
            break
        segment = profile.segments[cursor.segment]
        look = ControlInput(
            at_s=at_s,
            dt_s=1.0,
            process_c=reading,
            setpoint_c=cursor.setpoint_c,
            goal_c=goal_c(segment),
            segment_kind=segment.kind,
            heat_wanted=not door,
            preview=lambda ahead_s, c=cursor: preview(profile, c, ahead_s),
            door_open=door,
            setpoint_rate_c_per_h=getattr(segment, "rate_c_per_h", None),
            heat_was_on=on,
        )
        duty, mode, note, unexplained, window_s = duty_of(look)
        duty = 0.0 if door else duty
        if direct:
            moved = int(duty > 0 and not on)
            on = duty > 0
            switch = replace(switch, closures=switch.closures + moved)
        else:
            switch, on = advance_switch(times_of(oven.switching), switch, duty, 1.0, window_s)
        rows.append(
            Row(at_s, plant.sensor.junction_c, cursor.setpoint_c or 0.0, duty, on, mode, note, unexplained)
        )
        if event is not None:
            event(at_s, plant)
        plant.advance(1.0 if on else 0.0, 1.0)
        at_s += 1.0
    return rows, switch


def job(goal_c: float, soak_s: float = 3600.0, rate_c_per_h: float | None = None) -> Profile:
    """Return ramp and soak; the band is wide so that the soak's clock runs whatever the controller does."""
    ramp = {"kind": "ramp", "to": f"{goal_c} C"} | ({"rate": f"{rate_c_per_h} C/h"} if rate_c_per_h else {})
    soak = {"kind": "soak", "at": f"{goal_c} C", "time": f"{soak_s} s", "band": "100 K"}
    return Profile.model_validate({"name": "bench", "segment": (ramp, soak)})


def first_in(rows: list[Row], goal: float, band_k: float = 3.0) -> int | None:
    """Return the index at which the sensor first comes within the band below the goal."""
    return next((i for i, r in enumerate(rows) if r.true_c >= goal - band_k), None)


def figures(rows: list[Row], goal: float) -> dict[str, float]:
    """Return overshoot, arrival for good, errors in the soak, closures per hour when settled, energy."""
    first = first_in(rows, goal)
    if first is None:
        return {"over_k": -999.0, "arrived_s": float("inf")}
    outside = [i for i, r in enumerate(rows) if abs(r.true_c - goal) > 3.0]
    touched, settled = rows[first : first + 3600], rows[-1200:]
    moves = sum(b.on and not a.on for a, b in pairwise(settled))
    return {
        "over_k": max(r.true_c for r in rows) - goal,
        "arrived_s": rows[outside[-1]].at_s + 1 if outside else 0.0,
        "touch_rms_k": _rms(touched, goal),
        "settled_rms_k": _rms(settled, goal),
        "settled_worst_k": max(abs(r.true_c - goal) for r in settled),
        "closures_per_h": moves * 3600.0 / max(1, len(settled)),
        "energy_s": float(sum(r.on for r in rows)),
    }


def _rms(rows: list[Row], goal: float) -> float:
    return (sum((r.true_c - goal) ** 2 for r in rows) / max(1, len(rows))) ** 0.5


def fastest_s(plant: Plant, goal: float, ceiling_k: float = 3.0) -> float:
    """Return the time-optimal limit: into goal - 3 K with the latest switch-off whose coast peaks at + 3 K.

    All heat flows are monotone, so no later and no other switching is faster without passing the ceiling.
    """
    live, saved, at = copy.deepcopy(plant), [], 0
    while live.sensor.junction_c < goal + ceiling_k:
        if at % 20 == 0:
            saved.append((at, copy.deepcopy(live)))
        live.advance(1.0, 1.0)
        at += 1
        if at > 80_000:
            return float("inf")
    low, high = 0, at
    while high - low > 1:
        middle = (low + high) // 2
        if _coast(saved, middle)[0] <= goal + ceiling_k:
            low = middle
        else:
            high = middle
    return _coast(saved, low, goal - 3.0)[1]


def _coast(saved: list[tuple[int, Plant]], cut_s: int, wanted_c: float = 1e9) -> tuple[float, float]:
    at, plant = saved[min(cut_s // 20, len(saved) - 1)]
    plant, peak, fell, reached = copy.deepcopy(plant), -1e9, 0, float("inf")
    while fell < 900 or at <= cut_s:
        plant.advance(1.0 if at < cut_s else 0.0, 1.0)
        at += 1
        now = plant.sensor.junction_c
        if now >= wanted_c and reached == float("inf"):
            reached = float(at)
        fell = 0 if now > peak else fell + 1
        peak = max(peak, now)
    return peak, reached
