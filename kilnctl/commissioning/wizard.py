"""The set-up walk: one step after another, resumable, every step dated with its value and expiry."""

import contextlib
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any

from kilnctl.clock import Clock
from kilnctl.commissioning import results
from kilnctl.commissioning.drills import drills
from kilnctl.commissioning.drills.dead_man_kill_test import kill
from kilnctl.commissioning.drills.drill_job import KILLED, DrillJob
from kilnctl.commissioning.drills.held_drills import wired_for
from kilnctl.commissioning.operator import Later, NotBegun, Person
from kilnctl.config.abilities import heating, may_heat
from kilnctl.config.oven import Oven
from kilnctl.devices.interfaces import OvenIO
from kilnctl.devices.probing.probe import ADDRESSES, Probe
from kilnctl.errors import DeviceError, RunRefused, sentence
from kilnctl.logbook.entries import CommissioningStep, LearnedOven, add, newest
from kilnctl.logbook.readers import Reader
from kilnctl.logbook.writer import Logbook
from kilnctl.model.oven_model import OvenModel
from kilnctl.permits import step_results
from kilnctl.permits.dead_man_test import Finding
from kilnctl.permits.needed_steps import spared
from kilnctl.permits.open_steps import open_or_overdue
from kilnctl.permits.setup_steps import BY_NAME, SetupStep

if TYPE_CHECKING:
    from kilnctl.logbook.entries import Typed

READY = "Ready, the isolator {}? The heat may come on from now; Ctrl-C cuts it"
STANDS_ON, STANDS_OFF = "on (switch it on again if a step had it off)", "off or a lamp in the heater's place"
NOTE = "Note (what was seen, with what; Enter for none): "
FIRST = ("everything", "live heat", "live heat above 260 °C")
BEFORE = "Local codes and licensed practice come first. q (or an empty answer) stops; continue another time."


@dataclass(frozen=True)
class Shop:
    """Where the walk takes place: the oven, its file, its wires, the logbook and the person.

    `oven_io` and `probe` open the oven's ports anew each time; `beside` are the texts of other ovens' files,
    which are only looked at. `addresses` are those that the search for strangers asks. `apart` does a drill
    that heats in a process under a supervisor (None: here, in virtual time); `off_stamp` gives what was seen
    of the off stamps when the step was shown, of which `asked_anew` hears: an off of before is told then, and
    one that comes later ends the step. `on_the_line` answers an off while ports are held here.
    `why_afar` has a person who is not known to be at the oven prove it, else it says why no heat may come on.
    """

    oven: Oven
    oven_text: str
    person: Person
    clock: Clock
    book: Logbook
    oven_io: Callable[[Oven], OvenIO]
    probe: Callable[[], Probe]
    beside: Callable[[], tuple[str, ...]] = tuple
    still_latched: Callable[[], bool] = lambda: True
    send_test: Callable[[], tuple[str, ...]] = tuple
    addresses: Iterable[int] = ADDRESSES
    time_scale: float = 1.0
    who: str = ""
    apart: Callable[[DrillJob], Finding] | None = None
    off_stamp: Callable[[], Mapping[str, str]] = dict
    asked_anew: Callable[[], None] = lambda: None
    on_the_line: Callable[[], contextlib.AbstractContextManager[None]] = contextlib.nullcontext
    why_afar: Callable[[], str] = str
    why_latched: Callable[[], str] = str  # asks the person: a drill heats a latched oven too

    @property
    def reader(self) -> Reader:
        """Return the logbook for reading."""
        return Reader(self.book.connection)

    @property
    def now_s(self) -> float:
        """Return unix time."""
        return self.clock.utc().timestamp()

    def model(self) -> OvenModel | None:
        """Return what was learned of the oven, None where nothing was."""
        found = newest(self.reader, LearnedOven, self.oven.name)
        return None if found is None else OvenModel.from_dict(found[1].model)

    def drill(self, name: str, step: SetupStep) -> Finding:
        """Do a drill of a step on the oven. What the devices refuse is a finding, not an error.

        One that heats is announced. Raises NotBegun where the person does not say yes.
        """
        if name in drills.HEAT:
            self._announce(STANDS_OFF if name in drills.ISOLATED else STANDS_ON)
        if self.apart is not None and name in drills.HEAT:
            return self.apart(self.job(name, step))
        try:
            with self.on_the_line():
                oven_io = self.oven_io(wired_for(name, self.oven))
                return drills.run(name, self.oven, oven_io, self.clock, model=self.model(), tell=self.tell)
        except (DeviceError, RunRefused) as e:
            return Finding(False, None, sentence(e))

    @contextlib.contextmanager
    def probing(self) -> Iterator[Probe]:
        """Hold the ports and look at the wires; an off is answered meanwhile."""
        with self.on_the_line():
            probe = self.probe()
            try:
                yield probe
            finally:
                probe.close()

    def killed(self, step: SetupStep, quiet: bool) -> Finding:
        """Have a program heat and kill it; `quiet` for a board that any reading keeps on. As drill."""
        self._announce(STANDS_OFF)
        if self.apart is not None:
            return self.apart(replace(self.job(KILLED, step), quiet=quiet))
        with self.probing() as probe:
            return kill(self.oven_text, self.time_scale, probe, self.clock, quiet)

    def _announce(self, isolator: str) -> None:
        """Wait for the person's yes before any heat. Raises NotBegun."""
        if why := self.why_latched():
            raise NotBegun(why)
        if not self.person.key(READY.format(isolator)):
            raise NotBegun("not begun")

    def job(self, name: str, step: SetupStep) -> DrillJob:
        """Return a drill as its own process gets it."""
        model = self.model()
        return DrillJob(
            drill=name,
            step=step.name,
            oven=self.oven_text,
            off_stamp=dict(self.off_stamp()),
            time_scale=self.time_scale,
            model=None if model is None else model.to_dict(),
            beside=self.beside() if name == "pulse" else (),
        )

    def tell(self, line: str) -> None:
        """Show what a drill tells meanwhile."""
        self.person.say(f"  … {line}")


@dataclass(frozen=True, slots=True)
class Result:
    """What came of a step: what is stored of it, and further entries for the logbook."""

    passed: bool
    value: float | None = None
    note: str = ""
    data: dict[str, Any] = field(default_factory=dict)
    entries: "tuple[Typed, ...]" = ()


# None: nothing is stored, the walk goes on.
Doing = Callable[[Shop, SetupStep], Result | None]


def set_up(shop: Shop, steps: Iterable[SetupStep], doing: Mapping[str, Doing], only_due: bool) -> int:
    """Do the steps that are due (or all that are given). Returns how many were done; never raises Later."""
    shop.person.say(BEFORE)
    if not may_heat(shop.oven):
        can, *ways = heating(shop.oven)
        shop.person.say("\n".join((can, *(f"  - {way}" for way in ways))))
    count = 0
    # Whoever only wants his first heat beside it need not stop at what an unattended one wants.
    in_turn = sorted(steps, key=lambda step: step.blocks not in FIRST) if only_due else steps
    try:
        for step in in_turn:
            done = step_results.results(shop.reader, shop.oven.name)
            oven_hash = step_results.hash_of(shop.oven_text)
            if only_due and not open_or_overdue([step], done, shop.now_s, shop.oven, oven_hash):
                continue
            before = [BY_NAME[n] for n in step.after if n not in spared(shop.oven)]
            missing = open_or_overdue(before, done, shop.now_s, shop.oven, oven_hash)
            if missing:
                shop.person.say(f"\n{step.name}: first {'; '.join(missing)}")
                continue
            _until_it_will_do(shop, step, doing, again=only_due)
            count += 1
        if only_due:
            shop.person.say("\nnothing else can be done now")
    except Later:
        shop.person.say("\nstopped here; the same command continues from this step")
    finally:
        done = step_results.results(shop.reader, shop.oven.name)
        oven_hash = step_results.hash_of(shop.oven_text)
        shop.person.say(results.may_do(done, shop.now_s, shop.oven, oven_hash))
    return count


def _until_it_will_do(shop: Shop, step: SetupStep, doing: Mapping[str, Doing], again: bool) -> None:
    """Do a step; where it has not passed the person may do it `again`, go on, or stop."""
    while True:
        kept = do_step(shop, step, doing)
        if kept is None or kept.passed or not again:
            return
        on = shop.person.key(f"Go on to the next step? n does {step.name} again, q stops here")
        if on:
            return


def heats(step: SetupStep) -> bool:
    """Return whether a step switches heat on: then somebody must be at the oven."""
    return step.drill in drills.HEAT or step.name in ("limit test", "drop test")


def do_step(shop: Shop, step: SetupStep, doing: Mapping[str, Doing]) -> CommissioningStep | None:
    """Do one step and store it. Raises Later, with nothing stored, where the person stops before its end."""
    shop.person.say(f"\n{step.name} (needed for {step.blocks})\n  {step.do}\n  Expected: {step.expect}")
    shop.asked_anew()
    if heats(step) and (why := shop.why_afar()):
        shop.person.say(f"  not done: {why}; {step.name} stays open (needed for {step.blocks})")
        return None
    try:
        result = doing[step.name](shop, step)
    except NotBegun as e:
        result = Result(False, note=str(e))
    if result is None:
        return None
    now_s = shop.now_s
    for entry in result.entries if result.passed else ():
        add(shop.book, entry, now_s)
    kept = step_results.keep(
        shop.book,
        shop.oven,
        shop.oven_text,
        step,
        result.passed,
        now_s,
        value=result.value,
        note=result.note,
        who=shop.who,
        data=result.data,
    )
    shop.person.say(f"  {results.stored(kept, now_s)}")
    if not kept.passed:
        shop.person.say(f"  {results.failed(kept, step)}")
    return kept
