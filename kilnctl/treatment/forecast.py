"""When each segment of a profile will start and end, and what it will cost: a walk through plan and part."""

import math
from dataclasses import dataclass

from kilnctl.model import part as parts
from kilnctl.model.part import PartModel, PartState
from kilnctl.profile.segments import AnySegment, Cool, Operator, Profile, Ramp, Soak
from kilnctl.treatment.reach import Plant, arrival_s, cool_s, saturates_at_c

STEP_S = 10.0
LONGEST_S = 72 * 3600.0
_ARRIVED_K = 0.5
# How long a person usually takes (common practice); the longest wait stands in the segment.
_PERSON_S = {
    "quench": 60.0,
    "air cool": 60.0,
    "load": 120.0,
    "clamp": 300.0,
    "check": 600.0,
    "confirm": 300.0,
}


@dataclass(frozen=True, slots=True)
class Span:
    """The forecast of one segment. `part_late_s` is how long a soak waits for the part;
    `saturated_c` the temperature at which a ramp runs out of power, None where it holds its rate.
    """

    start_s: float
    duration_s: float
    energy_j: float
    part_late_s: float = 0.0
    saturated_c: float | None = None

    @property
    def end_s(self) -> float:
        """Return the end, in seconds from the start of the run."""
        return self.start_s + self.duration_s


@dataclass(frozen=True, slots=True)
class _Place:
    at_s: float
    chamber_c: float
    part: PartState | None


def forecast(profile: Profile, plant: Plant, part: PartModel | None) -> tuple[Span, ...]:
    """Return the forecast of every segment, from cold. A segment that never ends has infinite duration."""
    place = _Place(0.0, plant.ambient_c, parts.start(part, plant.ambient_c) if part else None)
    spans = []
    for segment in profile.segments:
        place, span = _walk(segment, place, plant, part)
        spans.append(span)
    return tuple(spans)


def _walk(segment: AnySegment, place: _Place, plant: Plant, part: PartModel | None) -> tuple[_Place, Span]:
    match segment:
        case Ramp():
            return _ramp(segment, place, plant, part)
        case Soak():
            return _soak(segment, place, plant, part)
        case Cool():
            return _cool(segment, place, plant, part)
        case Operator():
            return _operator(segment, place, plant, part)


def _follow(
    place: _Place,
    part: PartModel | None,
    from_c: float,
    to_c: float,
    duration_s: float,
    tau_s: float = math.inf,
) -> _Place:
    """Move on with the chamber going from one temperature to another, the part in it."""
    state = place.part
    if part is not None and state is not None and math.isfinite(duration_s):
        steps = max(1, math.ceil(duration_s / STEP_S))
        for n in range(steps):
            share = (n + 0.5) / steps
            chamber_c = from_c + (to_c - from_c) * _shape(share, duration_s, tau_s)
            state = parts.advance(part, state, chamber_c, duration_s / steps)
    return _Place(place.at_s + duration_s, to_c, state)


def _shape(share: float, duration_s: float, tau_s: float) -> float:
    """Return how far an approach has come: straight, or bent like a first-order cooling."""
    if not math.isfinite(tau_s) or duration_s <= 0.0:
        return share
    return math.expm1(-share * duration_s / tau_s) / math.expm1(-duration_s / tau_s)


def _ramp(segment: Ramp, place: _Place, plant: Plant, part: PartModel | None) -> tuple[_Place, Span]:
    start_c = place.chamber_c
    duration_s = arrival_s(plant, start_c, segment.to_c, segment.rate_c_per_h)
    limit_c = saturates_at_c(plant, segment.rate_c_per_h) if segment.rate_c_per_h else None
    saturated_c = limit_c if limit_c is not None and start_c < segment.to_c > limit_c else None
    to_c = max(start_c, segment.to_c)
    moved = _follow(place, part, start_c, to_c, duration_s)
    middle_k = (start_c + to_c) / 2 - plant.ambient_c
    energy_j = plant.heat_j_per_k * (to_c - start_c) + plant.loss_w_per_k * middle_k * duration_s
    if segment.to_c < start_c:
        energy_j = 0.0
    return moved, Span(place.at_s, duration_s, energy_j, saturated_c=saturated_c)


def _soak(segment: Soak, place: _Place, plant: Plant, part: PartModel | None) -> tuple[_Place, Span]:
    falls_s = cool_s(plant, place.chamber_c, segment.at_c)
    arrived = _follow(place, part, place.chamber_c, segment.at_c, falls_s, plant.time_constant_s)
    late_s = 0.0
    if segment.clock == "part" and part is not None:
        arrived, late_s = _wait_for_part(segment, arrived, part)
    done = _follow(arrived, part, segment.at_c, segment.at_c, segment.soak_s)
    held_s = late_s + segment.soak_s
    energy_j = plant.loss_w_per_k * (segment.at_c - plant.ambient_c) * held_s
    return done, Span(place.at_s, falls_s + held_s, energy_j, part_late_s=late_s)


def _wait_for_part(segment: Soak, place: _Place, part: PartModel) -> tuple[_Place, float]:
    state, late_s = place.part, 0.0
    while state is not None and abs(state.core_c - segment.at_c) > segment.band_k and late_s < LONGEST_S:
        state = parts.advance(part, state, segment.at_c, STEP_S)
        late_s += STEP_S
    return _Place(place.at_s + late_s, segment.at_c, state), late_s


def _cool(segment: Cool, place: _Place, plant: Plant, part: PartModel | None) -> tuple[_Place, Span]:
    start_c, tau_s = place.chamber_c, plant.time_constant_s
    at_c, elapsed_s, energy_j, state = start_c, 0.0, 0.0, place.part
    while _measured(segment, at_c, state) > segment.to_c and elapsed_s < LONGEST_S:
        natural_c = plant.ambient_c + (at_c - plant.ambient_c) * math.exp(-STEP_S / tau_s)
        wanted_c = -math.inf
        if segment.rate_c_per_h is not None:
            wanted_c = max(at_c - segment.rate_c_per_h * STEP_S / 3600.0, segment.to_c - 1.0)
        energy_j += max(0.0, wanted_c - natural_c) * plant.heat_j_per_k if wanted_c > natural_c else 0.0
        at_c = max(natural_c, wanted_c)
        state = parts.advance(part, state, at_c, STEP_S) if part and state else None
        elapsed_s += STEP_S
    reached = elapsed_s < LONGEST_S
    moved = _Place(place.at_s + elapsed_s, at_c, state)
    return moved, Span(place.at_s, elapsed_s if reached else math.inf, energy_j)


def _measured(segment: Cool, chamber_c: float, state: PartState | None) -> float:
    return state.core_c if segment.measure == "part" and state is not None else chamber_c


def _operator(segment: Operator, place: _Place, plant: Plant, part: PartModel | None) -> tuple[_Place, Span]:
    duration_s = min(_PERSON_S.get(segment.step, segment.at_most_s), segment.at_most_s)
    hold_c = segment.hold_c
    if hold_c is None:
        to_c = plant.ambient_c + (place.chamber_c - plant.ambient_c) * math.exp(
            -duration_s / plant.time_constant_s
        )
        return _follow(place, part, place.chamber_c, to_c, duration_s), Span(place.at_s, duration_s, 0.0)
    energy_j = plant.loss_w_per_k * (hold_c - plant.ambient_c) * duration_s
    moved = _follow(place, part, hold_c, hold_c, duration_s)
    if segment.step == "load" and part is not None:
        moved = _Place(moved.at_s, moved.chamber_c, parts.start(part, plant.ambient_c))
    return moved, Span(place.at_s, duration_s, energy_j)
