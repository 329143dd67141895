"""When each segment of a profile will start and end, and what it will cost: oven model and part, stepped.

The oven follows its set-point as well as its power and its losses allow, so a ramp that saturates and a
cooling that becomes slower than planned show before anything is heated.
"""

import math
from dataclasses import dataclass, replace

from kilnctl.model import oven as ovens
from kilnctl.model import part as parts
from kilnctl.model.oven import OvenModel, OvenState
from kilnctl.model.part import PartModel, PartState
from kilnctl.profile.cursor import ARRIVED_K
from kilnctl.profile.segments import AnySegment, Cool, Operator, Profile, Ramp, Soak
from kilnctl.treatment.cooling_names import NO_EXPOSURE, TO_C, Exposure, expose, rate_700_500

STEP_S = 20.0
HORIZON_S = 60.0
LONGEST_S = 60 * 3600.0
_BEHIND_S = 600.0
_HAND_WARM_C = 50.0
# How long a person usually takes (common practice); the longest wait stands in the segment.
_PERSON_S = {
    "quench": 60.0,
    "air cool": 60.0,
    "load": 120.0,
    "unload": 120.0,
    "clamp": 300.0,
    "check": 600.0,
    "crack door": 60.0,
    "confirm": 300.0,
    "cold": 7200.0,
}


@dataclass(frozen=True, slots=True)
class Span:
    """The forecast of one segment.

    `part_late_s` is how long a soak waits for the part; `behind_c` the temperature from which the oven
    cannot follow the rate any more, None where it follows; an infinite duration means that it never ends;
    `exposure` is the part's, from the start of the run to the end of this segment.
    """

    start_s: float
    duration_s: float
    energy: float
    part_late_s: float = 0.0
    behind_c: float | None = None
    exposure: Exposure = NO_EXPOSURE

    @property
    def end_s(self) -> float:
        """Return the end, in seconds from the start of the run."""
        return self.start_s + self.duration_s


@dataclass(frozen=True, slots=True)
class _Place:
    """Where the heat stands; `energy` in full-power seconds."""

    at_s: float
    oven: OvenState
    part: PartState | None
    setpoint_c: float | None = None
    duty: float = 0.0
    energy: float = 0.0
    exposure: Exposure = NO_EXPOSURE

    @property
    def process_c(self) -> float:
        return ovens.sensor_c(self.oven)


@dataclass(frozen=True, slots=True)
class Rig:
    """The oven's model, the part's model or None, and the room."""

    oven: OvenModel
    part: PartModel | None
    ambient_c: float

    def step(self, place: _Place, want_c: float | None, setpoint_c: float | None) -> _Place:
        """Return the place one step later, on the way to `want_c` one horizon from now (None: heat off)."""
        duty = 0.0 if want_c is None else self._duty(place.oven, want_c)
        oven = ovens.advance(self.oven, place.oven, duty, self.ambient_c, STEP_S)
        part = place.part
        if self.part is not None and part is not None:
            # As in the live run: the part sees what the sensor reads, nothing else is known.
            part = parts.advance(self.part, part, ovens.sensor_c(oven), STEP_S)
        hot = place.exposure if part is None else expose(place.exposure, part.core_c, STEP_S)
        return _Place(place.at_s + STEP_S, oven, part, setpoint_c, duty, place.energy + duty * STEP_S, hot)

    def _duty(self, state: OvenState, want_c: float) -> float:
        """Return the duty that brings the sensor to `want_c` one horizon from now: nearly linear in duty."""
        off_c, full_c = (
            ovens.sensor_c(ovens.advance(self.oven, state, duty, self.ambient_c, HORIZON_S))
            for duty in (0.0, 1.0)
        )
        return min(max((want_c - off_c) / (full_c - off_c), 0.0), 1.0)


def forecast(
    profile: Profile, model: OvenModel, part: PartModel | None, ambient_c: float
) -> tuple[Span, ...]:
    """Return the forecast of every segment, oven and part starting from the room's temperature."""
    rig = Rig(model, part, ambient_c)
    place = _Place(0.0, ovens.at_rest(ambient_c), None)
    spans, outside_s = [], 0.0
    for n, segment in enumerate(profile.segments):
        begun = _with_part(rig, place, parts.inside(profile, n))
        if place.part is not None and begun.part is None and part is not None:
            outside_s = air_cool_s(part, place.part, ambient_c, _HAND_WARM_C)
        loading = isinstance(segment, Operator) and segment.step == "load"
        place, late_s, behind_c = _walk(rig, segment, begun, outside_s if loading else 0.0)
        duration_s = place.at_s - begun.at_s
        ended = duration_s < LONGEST_S
        spans.append(
            Span(
                start_s=begun.at_s,
                duration_s=duration_s if ended else math.inf,
                energy=place.energy - begun.energy,
                part_late_s=late_s,
                behind_c=behind_c,
                exposure=place.exposure,
            )
        )
        if not ended:
            break
    return tuple(spans)


def _with_part(rig: Rig, place: _Place, inside: bool) -> _Place:
    """Return the place with its part put in cold, left alone, or taken out."""
    if rig.part is None or (place.part is not None) == inside:
        return place
    return replace(place, part=parts.start(rig.part, rig.ambient_c) if inside else None)


def _walk(
    rig: Rig, segment: AnySegment, place: _Place, outside_s: float
) -> tuple[_Place, float, float | None]:
    match segment:
        case Ramp():
            return _ramp(rig, segment, place)
        case Soak():
            return _soak(rig, segment, place)
        case Cool():
            return _cool(rig, segment, place)
        case Operator():
            return _operator(rig, segment, place, outside_s), 0.0, None


def _toward(place: _Place, to_c: float, rate_c_per_s: float) -> tuple[float, float]:
    """Return the next set-point of a ramp or controlled cooling, and the temperature wanted at the horizon.

    Cooling is heating with its sign turned.
    """
    sign = math.copysign(1.0, rate_c_per_s)
    start = sign * (place.process_c if place.setpoint_c is None else place.setpoint_c)
    end = max(sign * to_c, start)
    setpoint = min(start + abs(rate_c_per_s) * STEP_S, end)
    ahead = min(setpoint + abs(rate_c_per_s) * (HORIZON_S - STEP_S), end)
    return sign * setpoint, sign * ahead


def _ramp(rig: Rig, ramp: Ramp, place: _Place) -> tuple[_Place, float, float | None]:
    walk = [place]
    while walk[-1].at_s - place.at_s < LONGEST_S:
        setpoint_c = want_c = ramp.to_c
        if ramp.rate_c_per_h is not None:
            setpoint_c, want_c = _toward(walk[-1], ramp.to_c, ramp.rate_c_per_h / 3600.0)
        walk.append(rig.step(walk[-1], want_c, setpoint_c))
        if setpoint_c >= ramp.to_c and walk[-1].process_c >= ramp.to_c - ARRIVED_K:
            break
    return walk[-1], 0.0, _behind(walk, 1.0) if ramp.rate_c_per_h is not None else None


def _behind(walk: list[_Place], limit: float) -> float | None:
    """Return the temperature where the duty ran into its limit for ten minutes or more, or None."""
    since: _Place | None = None
    for place in walk[1:]:
        if abs(place.duty - limit) > 1e-6:
            since = None
        elif since is None:
            since = place
        elif place.at_s - since.at_s >= _BEHIND_S:
            return since.process_c
    return None


def _soak(rig: Rig, soak: Soak, place: _Place) -> tuple[_Place, float, float | None]:
    credited_s, late_s, begun_s = 0.0, 0.0, place.at_s
    while credited_s < soak.soak_s and place.at_s - begun_s < LONGEST_S:
        place = rig.step(place, soak.at_c, soak.at_c)
        at_c = place.part.core_c if soak.clock == "part" and place.part else place.process_c
        if abs(at_c - soak.at_c) <= soak.band_k:
            credited_s += STEP_S
        else:
            late_s += STEP_S
    # The last step may reach past the end of the soak.
    return replace(place, at_s=place.at_s - max(0.0, credited_s - soak.soak_s)), late_s, None


def _cool(rig: Rig, cool: Cool, place: _Place) -> tuple[_Place, float, float | None]:
    walk = [place]
    while _measured(cool, walk[-1]) > cool.to_c and walk[-1].at_s - place.at_s < LONGEST_S:
        if cool.rate_c_per_h is None:
            walk.append(rig.step(walk[-1], None, None))
        else:
            # Just below the goal, so that a controlled cooling does end.
            setpoint_c, want_c = _toward(walk[-1], cool.to_c - 1.0, -cool.rate_c_per_h / 3600.0)
            walk.append(rig.step(walk[-1], want_c, setpoint_c))
    return walk[-1], 0.0, _behind(walk, 0.0) if cool.rate_c_per_h is not None else None


def _measured(cool: Cool, place: _Place) -> float:
    return place.part.core_c if cool.measure == "part" and place.part else place.process_c


def _operator(rig: Rig, step: Operator, place: _Place, outside_s: float) -> _Place:
    """Let a person take his usual time, and before a load the time in which the part cools outside."""
    usual_s = _PERSON_S.get(step.step, step.at_most_s)
    ends_s = place.at_s + min(usual_s + outside_s, step.at_most_s)
    while place.at_s < ends_s:
        place = rig.step(place, step.hold_c, step.hold_c)
    return replace(place, at_s=ends_s)


def air_cool_s(model: PartModel, state: PartState, air_c: float, to_c: float) -> float:
    """Return the time a part takes in still air until its middle is at `to_c`, 0 where it is there."""
    elapsed_s = 0.0
    while state.core_c > to_c and elapsed_s < LONGEST_S:
        state = parts.advance(model, state, air_c, 5.0)
        elapsed_s += 5.0
    return elapsed_s


def shut_cooling_c_per_s(model: OvenModel, from_c: float, ambient_c: float) -> float | None:
    """Return the mean rate from 700 to 500 degC of the shut oven after a soak at `from_c`, or None."""
    state = ovens.at_rest(from_c, ambient_c)
    curve = [(0.0, from_c)]
    while curve[-1][1] > TO_C and curve[-1][0] < LONGEST_S:
        state = ovens.advance(model, state, 0.0, ambient_c, HORIZON_S)
        curve.append((curve[-1][0] + HORIZON_S, ovens.sensor_c(state)))
    return rate_700_500(curve)
