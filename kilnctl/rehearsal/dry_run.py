"""A whole heat in virtual time: the real runner, interlocks and record on a simulated oven."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

from kilnctl.clock import VirtualClock
from kilnctl.config.oven import Oven
from kilnctl.errors import ProfileError
from kilnctl.heat.heat_state import Heat
from kilnctl.heat.job import Job, Outcome
from kilnctl.heat.runner import Runner
from kilnctl.heat.station import Station, station_for
from kilnctl.link.snapshot import Command
from kilnctl.logbook.recorder import Recorder
from kilnctl.logbook.records import RunHeader
from kilnctl.logbook.writer import Logbook
from kilnctl.model.maker_constants import first_guess, is_timed
from kilnctl.model.oven_model import OvenModel
from kilnctl.model.part import as_slab_mm, part_of
from kilnctl.permits.preflight import check_envelope
from kilnctl.profile.segments import Operator, Profile
from kilnctl.profile.write import profile_toml
from kilnctl.rehearsal.drawn_oven import draw_oven
from kilnctl.rehearsal.simulated_wiring import BUNDLED, board_for
from kilnctl.rehearsal.virtual_io import VirtualIO
from kilnctl.treatment.segment_forecast import person_times_s
from simulator.boards.board import Board
from simulator.boards.faults import Fault, parse_fault
from simulator.oven import ovens
from simulator.oven.part import Part
from simulator.oven.plant import Plant

# How long a rehearsed person takes to answer an operator step.
ANSWER_AFTER_S = 20.0
EMISSIVITY = {"bare": 0.8, "coated": 0.85, "bright": 0.3, "foil": 0.3}


@dataclass
class Rehearsal:
    """A heat in virtual time, ready to run; afterwards its outcome, its truth and its record."""

    runner: Runner
    board: Board
    clock: VirtualClock
    book: Logbook
    run_id: int
    station: Station
    learned: bool

    def run(self) -> Outcome:
        """Run it to its end."""
        return self.runner.run()


def plant_for(oven: Oven, seed: int) -> Plant:
    """Return a simulated oven for an oven file: the bundled ones by name, others by build and nameplate."""
    if oven.name in BUNDLED:
        return BUNDLED[oven.name](seed)
    return ovens.random_oven(oven.typical, seed, power_w=oven.power_w, supply_v=oven.supply_v)


def oven_for(oven: Oven, model: OvenModel | None, seed: int) -> tuple[Plant, str]:
    """Return the simulated oven of a rehearsal and the words that say which one it is.

    A learned oven is drawn within the uncertainty of its fit, so that it is never the controller's own model.
    """
    if model is not None:
        found = draw_oven(oven, model.cools or model, seed)
        return found.plant, found.words()
    if is_timed(oven):
        found = draw_oven(oven, first_guess(oven), seed)
        return (
            found.plant,
            f"simulated oven no. {seed}, drawn near the maker's figures; not learned yet",
        )
    kind = "of the simulator" if oven.name in BUNDLED else f"of its build ({oven.build}), drawn widely"
    return plant_for(oven, seed), f"simulated oven: invented, {kind}; this oven has not been learned"


def part_for(profile: Profile, at_c: float | None = None) -> Part | None:
    """Return the simulated part that a profile speaks of, cold or already warm."""
    if profile.section_mm is None:
        return None
    return Part(
        section_mm=as_slab_mm(profile.section_mm, profile.shape, profile.faces),
        emissivity=EMISSIVITY[profile.surface],
        at_c=20.0 if at_c is None else at_c,
    )


def parse_faults(texts: Sequence[str]) -> list[Fault]:
    """Read faults like "sensor-open@1h". Raises ProfileError with one line."""
    try:
        return [parse_fault(text) for text in texts]
    except ValueError as e:
        raise ProfileError(str(e)) from None


def rehearse(
    oven: Oven,
    job: Job,
    *,
    faults: Sequence[Fault] = (),
    seed: int = 0,
    plant: Plant | None = None,
    answers: bool = True,
    logbook: Path | None = None,
    model: OvenModel | None = None,
    on_tick: Callable[[Runner], None] | None = None,
    oven_file: str = "",
    limit_c: float | None = None,
    answer_after_s: float = ANSWER_AFTER_S,
    waits_s: Sequence[float | None] = (),
    part_c: float | None = None,
    start: OvenModel | None = None,
    foreseen: bool = False,
) -> Rehearsal:
    """Set up a heat in virtual time. `answers` plays a person who answers every operator step.

    `waits_s` holds the seconds that a person takes at each operator step, where a plan says them, else
    `answer_after_s`.

    `model` is what has been learned of the oven, None for the nameplate's guess; `plant` the simulated oven
    (see `oven_for`), None for the invented one of the file. `oven_file` is the file's text, for the record.
    `limit_c` fits an independent limit to the simulated oven. `start` is what control starts from where an
    earlier heat found the oven changed; `foreseen` as for HeatController: nobody looks ahead in a rehearsal.

    Raises RunRefused as the real run would.
    """
    check_envelope(oven, job)
    clock = VirtualClock()
    board = board_for(oven, seed, plant if plant is not None else plant_for(oven, seed), limit_c)
    board.load(part_for(job.profile, part_c))
    board.schedule(faults)
    oven_io = VirtualIO(oven, board, clock)
    oven_io.connect()
    station = station_for(oven, job.profile, oven_io, model, start=start, foreseen=foreseen)
    book = Logbook(logbook)
    run_id = book.start_run(_header(oven, job, clock, oven_file))
    recorder = Recorder(book, run_id, clock, threaded=False)
    known_s = {n: s for n, s in enumerate(waits_s) if s is not None} or _outside_s(job.profile, oven)
    seen = _Person(on_tick, answer_after_s, known_s).see if answers else on_tick
    runner = Runner(Heat(station, job, recorder, clock, run_id), on_tick=seen)
    return Rehearsal(runner, board, clock, book, run_id, station, model is not None)


def _header(oven: Oven, job: Job, clock: VirtualClock, oven_file: str) -> RunHeader:
    return RunHeader(
        oven=oven.name,
        oven_file=oven_file,
        profile=profile_toml(job.profile),
        profile_name=job.profile.name,
        started_utc=clock.utc_s(),
        recipe=job.profile.recipe,
        revision=job.profile.revision,
        steel=job.profile.steel or "",
        simulated=True,
        period_s=oven.tick_s,
    )


def _outside_s(profile: Profile, oven: Oven) -> dict[int, float]:
    """Return how long a part cools in air before it goes back, by its step: nobody puts it back glowing."""
    times_s, segments = person_times_s(profile, part_of(profile), oven.ambient_c), profile.segments
    return {
        n: times_s[n] or 0.0
        for n, (before, now) in enumerate(pairwise(segments), 1)
        if getattr(before, "step", "") in ("air cool", "unload") and getattr(now, "step", "") == "load"
    }


class _Person:
    """Answers each operator step after a while, as somebody who stands by would."""

    def __init__(
        self, on_tick: Callable[[Runner], None] | None, after_s: float, known_s: Mapping[int, float]
    ) -> None:
        self._on_tick, self._after_s, self._known_s = on_tick, after_s, known_s

    def see(self, runner: Runner) -> None:
        """See one tick."""
        if self._on_tick is not None:
            self._on_tick(runner)
        current = runner.now.current
        if current.kind != "operator" or not isinstance(here := current.segment, Operator):
            return
        cursor = runner.now.cursor
        after_s = self._known_s.get(cursor.segment, min(self._after_s, here.at_most_s / 2))
        if cursor.waited_s >= after_s:
            runner.command(Command("answer", args={"reply": "done"}, who="rehearsal"))
