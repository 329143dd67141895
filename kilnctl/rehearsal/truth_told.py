"""What a rehearsal's simulated oven and part truly were, segment by segment, beside what was read."""

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from kilnctl.heat.runner import Runner
from kilnctl.model.part import inside
from kilnctl.profile.cursor import Cursor
from kilnctl.profile.segments import AnySegment, Soak
from kilnctl.rehearsal.dry_run import Rehearsal, part_for
from kilnctl.rehearsal.heat_watch import FAR_K, UNTRUE_K
from kilnctl.rehearsal.judge import blind_to
from kilnctl.rehearsal.true_treatment import TrueTreatment, lowered, truly_otherwise
from kilnctl.treatment.segments.segment_builders import HAND_WARM_C
from kilnctl.treatment.steel.steels import Steel
from kilnctl.units import say_point
from simulator.boards.faults import Fault

TELL_APART_K = UNTRUE_K
# By how much a skin may pass the goal of a temper: about what a table's step and a sensor are good for.
SKIN_OVER_K = 10.0
TOLD_S = 60.0


@dataclass(slots=True)
class _Sum:
    """Sums over the ticks of one segment that count: of a soak those that were credited, else all."""

    ticks: int = 0
    read_c: float = 0.0
    true_c: float = 0.0
    part_c: float = 0.0
    parts: int = 0
    peak_c: float = -300.0
    skin_c: float = -300.0


@dataclass(slots=True)
class TruthWatch:
    """Sees every tick of a rehearsal and moves the simulated part as hands would, in and out at its steps.

    `rehearsal` is set before it runs. `done` is told what part of `due_s` is over.
    """

    rehearsal: Rehearsal | None = None
    done: Callable[[float], object] | None = None
    due_s: float = 0.0
    sums: dict[int, _Sum] = field(default_factory=dict)
    treatment: TrueTreatment = field(default_factory=TrueTreatment)
    _within: bool = True
    _counted_s: float = 0.0

    def __call__(self, runner: Runner) -> None:
        """See one tick."""
        segment = runner.now.segment
        read_c = runner.now.scan.process.value if runner.now.scan is not None else None
        if self.rehearsal is None or segment is None or read_c is None:
            return
        if self.done is not None and self.due_s and runner.now.elapsed_s % TOLD_S < 1.0:
            self.done(min(runner.now.elapsed_s / self.due_s, 1.0))
        within = inside(runner.now.profile, runner.now.cursor.segment)
        if within != self._within:
            self._within = within
            self.rehearsal.board.load(part_for(runner.now.profile, HAND_WARM_C) if within else None)
        truth = self.rehearsal.board.truth()
        self.treatment.see(runner.now, truth.place_c if truth.part_core_c is None else truth.part_core_c)
        of = self.sums.setdefault(runner.now.cursor.segment, _Sum())
        of.peak_c = max(of.peak_c, truth.place_c)
        of.skin_c = max(of.skin_c, of.skin_c if truth.part_skin_c is None else truth.part_skin_c)
        if isinstance(segment, Soak) and not self._credited(segment, runner.now.cursor):
            return
        of.ticks += 1
        of.read_c += read_c
        of.true_c += truth.place_c
        if truth.part_core_c is not None:
            of.part_c += truth.part_core_c
            of.parts += 1

    def _credited(self, soak: Soak, cursor: Cursor) -> bool:
        """True in a tick that the soak's own clock has counted."""
        now_s = cursor.soak_part_s if soak.clock == "part" else cursor.soak_oven_s
        counted, self._counted_s = now_s > self._counted_s, now_s
        return counted


@dataclass(frozen=True, slots=True)
class SegmentTruth:
    """The means of one segment (of a soak while its clock ran), degC; `part_c` None without a part inside.

    `skin_peak_c` is the highest that the part's skin was in it, `ceiling_c` what that may be. `held_c` is
    where the sensor was to be: below the goal in a temper whose plan spares a thin edge.
    """

    index: int
    label: str
    goal_c: float | None
    read_c: float
    true_c: float
    part_c: float | None
    true_peak_c: float
    skin_peak_c: float | None = None
    ceiling_c: float | None = None
    held_c: float | None = None

    @property
    def off_k(self) -> float:
        """Return how far a soak's part (the chamber without one) was outside what the plan asked for it.

        That reaches from the sensor's place to the goal: a spared part may be anywhere between them.
        """
        if self.goal_c is None:
            return 0.0
        least_c = self.goal_c if self.held_c is None else self.held_c
        return self.felt_c - min(max(self.felt_c, least_c), self.goal_c)

    @property
    def felt_c(self) -> float:
        """Return what the part was at, the chamber where there was none."""
        return self.true_c if self.part_c is None else self.part_c

    @property
    def too_hot(self) -> bool:
        """True where the skin passed what it may have while the sensor was on its goal."""
        return self.ceiling_c is not None and (self.skin_peak_c or 0.0) > self.ceiling_c

    @property
    def stayed_under(self) -> bool:
        """True for a part that the plan spares, where it came out further under its goal than a place may."""
        goal_c, held_c = self.goal_c, self.held_c
        return goal_c is not None and held_c is not None and held_c < goal_c and self.felt_c < goal_c - FAR_K

    @property
    def apart_k(self) -> float:
        """Return by how much the reading was wrong, in the mean."""
        return self.true_c - self.read_c


def segments_told(watch: TruthWatch) -> tuple[SegmentTruth, ...]:
    """Return the truth of every segment that has begun."""
    assert watch.rehearsal is not None
    profile, told = watch.rehearsal.runner.now.profile, []
    for index, of in sorted(watch.sums.items()):
        segment = profile.segments[index]
        if of.ticks:
            told.append(
                SegmentTruth(
                    index=index,
                    label=segment.label or segment.kind,
                    goal_c=segment.at_c if isinstance(segment, Soak) else None,
                    held_c=segment.held_c if isinstance(segment, Soak) else None,
                    read_c=round(of.read_c / of.ticks, 1),
                    true_c=round(of.true_c / of.ticks, 1),
                    part_c=round(of.part_c / of.parts, 1) if of.parts else None,
                    true_peak_c=round(of.peak_c, 1),
                    skin_peak_c=round(of.skin_c, 1) if of.parts else None,
                    ceiling_c=_ceiling_c(segment, watch.rehearsal.station.steel),
                )
            )
    return tuple(told)


def _ceiling_c(segment: AnySegment, steel: Steel | None) -> float | None:
    """Return what a skin may be in a soak: a temper's goal and its margin, a hardening's by its card."""
    if not isinstance(segment, Soak):
        return None
    if segment.purpose in ("temper", "snap temper"):
        return segment.at_c + SKIN_OVER_K
    limits = [limit.low_c for limit in steel.too_hot] if steel is not None else []
    above = [c for c in limits if c > segment.at_c]
    return min(above) if above and segment.purpose == "harden" else None


def not_as_asked(told: tuple[SegmentTruth, ...], bands_k: dict[int, float]) -> str:
    """Say which soak the part did not get, empty where it got all of them. `bands_k` is by segment.

    Where the reading is right the part may be somewhat off: that is the oven's uniformity, which is told. A
    part whose sensor is held lower by the plan may be between the two, but no further under than that.
    """
    for s in told:
        if s.too_hot:
            skin, ceiling = say_point(s.skin_peak_c or 0.0), say_point(s.ceiling_c or 0.0)
            return f"{s.label}: the part's skin reached {skin}, {ceiling} was the most allowed"
        far_k = TELL_APART_K if abs(s.apart_k) > TELL_APART_K else FAR_K
        if s.goal_c is not None and abs(s.off_k) > bands_k.get(s.index, 0.0) + far_k:
            what = "the part" if s.part_c is not None else "the chamber"
            return f"{s.label}: {what} was at {say_point(s.felt_c)}, {say_point(s.goal_c)} was asked"
        if s.stayed_under:
            return (
                f"{s.label}: the part was at {say_point(s.felt_c)}, {say_point(s.goal_c or 0.0)} was asked: "
                "on this simulated oven the sensor is held too low. A plan does so to spare a thin edge that "
                'sees the elements: shield the part (shield = "box"), or learn the oven (`kilnctl tune`), '
                "and rehearse again"
            )
    return ""


def stood_apart(told: tuple[SegmentTruth, ...]) -> tuple[str, ...]:
    """Say once by how much the part stood off its goal with right readings, if by more than a few K.

    A part that the plan spares on purpose has a line of its own.
    """
    right = [s for s in told if s.part_c is not None and abs(s.apart_k) <= TELL_APART_K and not s.too_hot]
    planned = [s for s in right if s.goal_c is not None and (s.held_c is None or s.held_c >= s.goal_c)]
    worst = max(planned, key=lambda s: abs(s.off_k), default=None)
    if worst is None or abs(worst.off_k) <= TELL_APART_K:
        return ()
    where, there = ("above", "hotter") if worst.off_k > 0.0 else ("below", "less hot")
    return (
        f"the part stood {abs(worst.off_k):.0f} K {where} its goal ({worst.label}): in this simulated oven "
        f"it is {there} where the part lies than at the sensor, and no reading shows that. At a real oven a "
        "survey does (kilnctl care survey); a closed box or a tray of sand evens it out",
    )


def readings_false(told: tuple[SegmentTruth, ...]) -> bool:
    """True where truth and reading parted in any segment."""
    return any(abs(s.apart_k) > TELL_APART_K for s in told)


def treated_otherwise(
    watch: TruthWatch, told: tuple[SegmentTruth, ...], read: dict[str, Any]
) -> tuple[str, ...]:
    """Say how the part was truly treated otherwise than the record counts by its readings: `read`.

    Where the readings are right a part may be somewhat off, and further where its sensor is held lower.
    """
    assert watch.rehearsal is not None
    now, false = watch.rehearsal.runner.now, readings_false(told)
    if not false and lowered(now.profile):
        return ()
    far_k = TELL_APART_K if false else FAR_K
    return truly_otherwise(read, now.dose, watch.treatment, now.profile, far_k)


def bands_k(rehearsal: Rehearsal) -> dict[int, float]:
    """Return the band of each soak by its place in the profile."""
    segments = rehearsal.runner.now.profile.segments
    return {n: s.band_k for n, s in enumerate(segments) if isinstance(s, Soak)}


def stood_in(rehearsal: Rehearsal, faults: tuple[Fault, ...], limit_c: float | None) -> tuple[str, ...]:
    """Say what software could not see on this oven, and which safeguards of the simulated oven acted."""
    said = [
        f"software cannot see this fault on this oven; what guards against it: {row.stands_in}"
        for row in blind_to(rehearsal, faults)
    ]
    if limit_c is None:
        said.append("no independent limit was simulated; --limit fits one, as a real oven must have it")
    elif rehearsal.board.limit_open:
        said.append(f"the independent limit at {say_point(limit_c)} opened and cut the heat")
    else:
        said.append(f"the independent limit at {say_point(limit_c)} was not needed")
    return tuple(said)


def as_data(
    told: tuple[SegmentTruth, ...], wrong: str, stood_in: tuple[str, ...], treatment: dict[str, Any]
) -> dict[str, Any]:
    """Return the truth as plain data; `treatment` is what the part truly got."""
    rows = [{name: getattr(s, name) for name in SegmentTruth.__slots__} for s in told]
    asked = {"treated_as_asked": not wrong, "not_as_asked": wrong, "true_treatment": treatment}
    return {"truth": rows, **asked, "safeguards": list(stood_in)}
