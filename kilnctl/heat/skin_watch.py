"""The skin of a thin part in sight of the elements, estimated while a heat runs, and the duty that it bears.

Each plausible explanation of the oven goes along in open loop, pulled to the reading; an edge exchanges heat
with its chamber and its elements. Two skins come of it, by what a part sees as a rule and at most.
"""

import math
from dataclasses import dataclass, field
from typing import Any, NamedTuple

from kilnctl.config.oven import Oven
from kilnctl.model import part as slab
from kilnctl.model.maker_constants import first_guess
from kilnctl.model.oven_model import OvenModel, OvenState, advance, at_rest, holding_duty
from kilnctl.model.part import PartState
from kilnctl.model.part_view import Sight, hottest_face_c, seen_c, view_of
from kilnctl.model.surveyed import Surveyed, hotter
from kilnctl.profile.segments import TEMPERS, Profile, Ramp, Soak
from kilnctl.treatment.edge.edge_forecast import TOLERANCE_K, edge_of
from kilnctl.units import say_point

STEP_S = 5.0
# How fast an explanation is pulled to the reading, per second, and how far ahead a coast is looked at.
_PULL, _AHEAD_S = 0.02, 60.0
_AHEAD = 3
# Near its limit an edge bears this much of what holds the oven by its model, and e times as much after each
# such time without a pause: a wall that drinks, or a model that is wrong, must not starve a soak.
_BEARS, _PATIENCE_S = 1.5, 1200.0
# From this far below its goal on an edge may get there by what is in the element already.
_NEAR_K = 120.0
# The record draws a point so often; beyond so many every second one goes.
_DRAWN_EVERY_S, _DRAWN = 60.0, 600
_JUDGED = (*TEMPERS, "harden", "normalise")


class Skin(NamedTuple):
    """The skin of a thin edge, degC: as a rule and at most."""

    likely_c: float
    most_c: float


@dataclass(slots=True)
class _Explained:
    """One explanation of the oven, and the two edges in it."""

    model: OvenModel
    oven: OvenState
    edges: tuple[PartState, PartState]


@dataclass
class SkinWatch:
    """Follows the skin through one heat. `peaks` holds, by segment, the highest it has been.

    By the nameplate of an oven that nobody has `learned` it bounds the duty, but is no estimate: ovens take
    half to three times what their nameplate says, and the element's share of it is unknown. `course` holds
    seconds and the two skins.
    """

    oven: Oven
    profile: Profile
    model: OvenModel
    learned: bool = True
    peaks: dict[int, Skin] = field(default_factory=dict)
    now: Skin | None = None
    most_duty: float = 1.0
    _known: list[_Explained] = field(default_factory=list)
    # The edges in the hottest surveyed place: in its hold, and on the way to it.
    _placed: tuple[PartState, PartState] | None = None
    course: list[tuple[float, float, float]] = field(default_factory=list)
    _at_s: float = 0.0
    _every_s: float = _DRAWN_EVERY_S
    _passed_s: float = 0.0
    _heat_s: float = 0.0
    _limited_s: float = 0.0

    def __post_init__(self) -> None:
        self._edge = edge_of(self.profile)

    def see(self, index: int, inside: bool, process_c: float, heat: float, dt_s: float) -> None:
        """Take one tick: the segment, is the part in the oven, the reading, and the heat since the last."""
        self._at_s += dt_s
        view = self._view(index)
        survey = self._survey(index)
        if survey is None and view.most <= 0.0:
            self.now, self.most_duty = None, 1.0
            return
        self._passed_s += dt_s
        self._heat_s += heat * dt_s
        if self._passed_s < STEP_S:
            return
        heat, dt_s = self._heat_s / self._passed_s, self._passed_s
        self._passed_s = self._heat_s = 0.0
        estimated = view.most > 0.0 and not _settles(survey)
        if survey is not None:
            self._by_survey(survey, inside, process_c, dt_s)
        if view.most > 0.0:
            self._step(view, inside, process_c, heat, dt_s)
        if not inside:
            self.now, self.most_duty = None, 1.0
            return
        self._note(index, survey is not None, estimated)
        self.most_duty = self._bears(index, view, dt_s) if estimated else 1.0

    def told(self) -> dict[str, Any]:
        """Return what the record says of a thin edge in its hottest soak, nothing where none was seen.

        "thin edge course" has seconds and the two skins in degC, to be drawn.
        """
        soaks = [(n, s) for n, s in enumerate(self.profile.segments) if isinstance(s, Soak)]
        seen = [(s, self._highest(n)) for n, s in soaks if n in self.peaks and s.purpose in _JUDGED]
        if not seen:
            return {}
        soak, skin = max(seen, key=lambda one: one[1].most_c - one[0].at_c)
        course = [[round(value, 1) for value in point] for point in self.course]
        return {"thin edge": self._words(soak, skin), "thin edge course": course}

    def _words(self, soak: Soak, skin: Skin) -> str:
        goal = f"for a goal of {say_point(soak.at_c)}"
        if not self.learned:
            return (
                f"not known, {goal}: the part faces the elements, and this oven has not been learned. From "
                f"its nameplate {say_point(skin.most_c)} at most, a guess: test the hardness, learn the oven"
            )
        survey = hotter(self.model.surveyed, soak.at_c, self.oven.ambient_c)
        sees = view_of(self.oven.elements, soak.shield).most > 0.0
        how = _how(survey, sees)
        return f"about {say_point(skin.likely_c)}, {say_point(skin.most_c)} at most, {goal}; {how}"

    def tempered_over_k(self) -> float | None:
        """Return by how much the edge was above the goal of a temper at most, None where none was seen."""
        soaks = [(n, s) for n, s in enumerate(self.profile.segments) if isinstance(s, Soak)]
        over_k = [
            self._highest(n).most_c - s.at_c for n, s in soaks if n in self.peaks and s.purpose in TEMPERS
        ]
        return max(over_k, default=None)

    def _highest(self, index: int) -> Skin:
        """Return the highest skin of a soak and of the ramps that led to it."""
        first = index
        while first > 0 and isinstance(self.profile.segments[first - 1], Ramp):
            first -= 1
        skins = [self.peaks[n] for n in range(first, index + 1) if n in self.peaks]
        return Skin(max(s.likely_c for s in skins), max(s.most_c for s in skins))

    def _view(self, index: int) -> Sight:
        """Return what the part sees in a segment; on the way to a soak its shield is on already."""
        segments = self.profile.segments
        soak = next((s for s in segments[index:] if isinstance(s, Soak) and s.clock == "part"), None)
        return view_of(self.oven.elements, None if soak is None else soak.shield)

    def _survey(self, index: int) -> Surveyed | None:
        """Return what a survey says of the soak that runs or is led to."""
        soaks = (s for s in self.profile.segments[index:] if isinstance(s, Soak) and s.clock == "part")
        soak = next(soaks, None)
        return None if soak is None else hotter(self.model.surveyed, soak.at_c, self.oven.ambient_c)

    def _by_survey(self, survey: Surveyed, inside: bool, process_c: float, dt_s: float) -> None:
        """Let both edges follow the hottest surveyed place: as in a hold, and as on the way."""
        room_c = self.oven.ambient_c
        if self._placed is None or not inside:
            self._placed = (slab.start(self._edge, room_c),) * 2
        likely, most = self._placed
        share = (process_c - room_c) / (survey.at_c - room_c)
        way_k = survey.hot_k if survey.way_k is None else survey.way_k
        hot_c, way_c = process_c + share * survey.hot_k, process_c + share * way_k
        likely = slab.advance(self._edge, likely, hot_c, dt_s)
        self._placed = likely, slab.advance(self._edge, most, way_c, dt_s)

    def _step(self, view: Sight, inside: bool, process_c: float, heat: float, dt_s: float) -> None:
        ambient_c = self.oven.ambient_c
        if not self._known:
            models = (self.model,) if self.model.bound is None else (self.model, self.model.bound)
            cold = abs(process_c - ambient_c) < 30.0
            rests = at_rest(process_c, None if cold else ambient_c)
            start = slab.start(self._edge, ambient_c)
            self._known = [_Explained(m, rests, (start, start)) for m in models]
        for each in self._known:
            state = advance(each.model, each.oven, heat, ambient_c, dt_s)
            off_k = min(1.0, _PULL * dt_s) * (process_c - state.junction_c)
            each.oven = OvenState(*(t + off_k for t in state.nodes))
            if inside:
                each.edges = self._later(each.edges, each.oven, view, dt_s)
            else:
                each.edges = (slab.start(self._edge, ambient_c),) * 2

    def _later(
        self, edges: tuple[PartState, PartState], oven: OvenState, view: Sight, dt_s: float
    ) -> tuple[PartState, PartState]:
        likely, most = edges
        by_rule_c = seen_c(self._edge, oven.face_c, oven.element_c, view.usual)
        return slab.advance(self._edge, likely, by_rule_c, dt_s), self._most_later(most, oven, view, dt_s)

    def _most_later(self, edge: PartState, oven: OvenState, view: Sight, dt_s: float) -> PartState:
        face_c = hottest_face_c(oven.face_c, oven.junction_c)
        return slab.advance(self._edge, edge, seen_c(self._edge, face_c, oven.element_c, view.most), dt_s)

    def _note(self, index: int, placed: bool, estimated: bool) -> None:
        """Keep the skins of now and the highest of the segment: by survey, and by the kindest explanation."""
        found = [Skin(*(e.surface_c for e in self._placed))] if placed and self._placed is not None else []
        found += [self._estimate()] if estimated else []
        likely_c, most_c = found[0].likely_c, max(skin.most_c for skin in found)
        self.now = Skin(likely_c, most_c)
        if not self.course or self._at_s - self.course[-1][0] >= self._every_s:
            self.course.append((self._at_s, likely_c, most_c))
        if len(self.course) > _DRAWN:
            self.course, self._every_s = self.course[::2], 2.0 * self._every_s
        before = self.peaks.get(index, self.now)
        self.peaks[index] = Skin(max(before.likely_c, likely_c), max(before.most_c, most_c))

    def _estimate(self) -> Skin:
        return Skin(*(min(e.edges[n].surface_c for e in self._known) for n in (0, 1)))

    def _bears(self, index: int, view: Sight, dt_s: float) -> float:
        """Return the highest duty now: near the limit of a temper what holds the oven and half of it more."""
        goal_c = self._temper_c(index)
        far = goal_c is None or self._estimate().most_c < goal_c - _NEAR_K
        if goal_c is None or far or self._highest_ahead_c(view) <= goal_c + TOLERANCE_K:
            self._limited_s = 0.0
            return 1.0
        self._limited_s += dt_s
        holds = holding_duty(self.model, goal_c, self.oven.ambient_c)
        return min(1.0, _BEARS * holds * math.exp(self._limited_s / _PATIENCE_S))

    def _highest_ahead_c(self, view: Sight) -> float:
        return min(self._coast_c(each, view) for each in self._known)

    def _temper_c(self, index: int) -> float | None:
        """Return the goal of the temper that runs or is led to, None where none is."""
        for segment in self.profile.segments[index:]:
            if isinstance(segment, Soak):
                return segment.at_c if segment.purpose in TEMPERS else None
            if not isinstance(segment, Ramp):
                return None
        return None

    def _coast_c(self, each: _Explained, view: Sight) -> float:
        """Return the highest that the edge in most sight gets if the heat goes off now."""
        oven, edge = each.oven, each.edges[1]
        highest_c = edge.surface_c
        for _ in range(_AHEAD):
            oven = advance(each.model, oven, 0.0, self.oven.ambient_c, _AHEAD_S)
            edge = self._most_later(edge, oven, view, _AHEAD_S)
            highest_c = max(highest_c, edge.surface_c)
        return highest_c


def _settles(survey: Surveyed | None) -> bool:
    """Return whether a survey leaves nothing to estimate: made at this temperature, with the way up seen."""
    return survey is not None and not survey.carried and survey.way_k is not None


def _how(survey: Surveyed | None, sees: bool) -> str:
    """Return in words where the two skins come from; `sees`: the part is in sight of the elements."""
    if survey is None:
        return "estimated from the elements it sees, not measured; its place was never surveyed"
    day = f" of {survey.day}" if survey.day else ""
    of = f"by the survey of its place{day} at {say_point(survey.measured_at_c)}, not measured today"
    if _settles(survey):
        return of
    lacks = "tells nothing of the way up" if survey.way_k is None else "was made at another temperature"
    most = "; what it may be at most is estimated from the elements it sees" if sees else ""
    return f"{of}; that survey {lacks}{most}"


def skin_watch(oven: Oven, profile: Profile, model: OvenModel | None) -> SkinWatch | None:
    """Return the watch over a part that the elements see, None where there is none or they do not see it.

    An oven of which nobody has said how its elements sit is watched too, with less in sight, and a surveyed
    one by its hottest place. A survey of another temperature, or that knows no way up, takes no bound away.
    """
    judged = any(isinstance(s, Soak) and s.purpose in _JUDGED for s in profile.segments)
    surveyed = model is not None and any(not survey.ended for survey in model.surveyed)
    if not judged or (view_of(oven.elements).most <= 0.0 and not surveyed):
        return None
    return SkinWatch(oven, profile, model if model is not None else first_guess(oven), model is not None)
