"""The set-up walk: one step after another, resumable, every step dated with its value and expiry."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from kilnctl.clock import Clock
from kilnctl.commissioning import drills, results
from kilnctl.commissioning.person import Later, Person
from kilnctl.commissioning.wires import ADDRESSES
from kilnctl.config.oven import Oven
from kilnctl.devices.probe import Probe
from kilnctl.devices.roles import Hands
from kilnctl.errors import DeviceError, RunRefused
from kilnctl.logbook.book import Logbook
from kilnctl.logbook.entries import CommissioningStep, LearnedOven, add, newest
from kilnctl.logbook.readers import Reader
from kilnctl.model.oven import OvenModel
from kilnctl.runtime import step_results
from kilnctl.runtime.dead_man import Found
from kilnctl.runtime.steps import BY_NAME, Step, open_or_overdue, spared

if TYPE_CHECKING:
    from kilnctl.logbook.entries import Typed

NOTE = "Note (what was seen, with what; Enter for none): "
BEFORE = "Local codes and licensed practice come first. q (or an empty answer) stops; go on another time."


@dataclass(frozen=True)
class Shop:
    """Where the walk takes place: the oven, its file, its wires, the logbook and the person.

    `hands` and `probe` open the oven's ports anew each time; `beside` are hands of other ovens that are only
    looked at. `addresses` are those that the search for strangers asks.
    """

    oven: Oven
    oven_text: str
    person: Person
    clock: Clock
    book: Logbook
    hands: Callable[[], Hands]
    probe: Callable[[], Probe]
    beside: Callable[[], Mapping[str, Hands]] = dict
    still_latched: Callable[[], bool] = lambda: True
    send_test: Callable[[], tuple[str, ...]] = tuple
    addresses: Iterable[int] = ADDRESSES
    time_scale: float = 1.0
    who: str = ""

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

    def drill(self, name: str) -> Found:
        """Do a drill on the oven. What the devices refuse is a finding, not an error."""
        beside: Mapping[str, Hands] = {}
        try:
            beside = self.beside() if name == "pulse" else {}
            return drills.run(
                name,
                self.oven,
                self.hands(),
                self.clock,
                model=self.model(),
                neighbours=beside,
                tell=lambda line: self.person.say(f"  … {line}"),
            )
        except (DeviceError, RunRefused) as e:
            return Found(False, None, f"{e}.")
        finally:
            for hands in beside.values():
                hands.close()


@dataclass(frozen=True, slots=True)
class Result:
    """What came of a step: what is stored of it, and further entries for the logbook."""

    passed: bool
    value: float | None = None
    note: str = ""
    data: dict[str, Any] = field(default_factory=dict)
    entries: "tuple[Typed, ...]" = ()


# None: nothing is stored, the walk goes on.
Doing = Callable[[Shop, Step], Result | None]


def walk(shop: Shop, steps: Iterable[Step], doing: Mapping[str, Doing], only_due: bool) -> int:
    """Do the steps that are due (or all that are given). Returns how many were done; never raises Later."""
    shop.person.say(BEFORE)
    count = 0
    try:
        for step in steps:
            done = step_results.results(shop.reader, shop.oven.name)
            oven_hash = step_results.hash_of(shop.oven_text)
            if only_due and not open_or_overdue([step], done, shop.now_s, shop.oven, oven_hash):
                continue
            before = [BY_NAME[n] for n in step.after if n not in spared(shop.oven)]
            missing = open_or_overdue(before, done, shop.now_s, shop.oven, oven_hash)
            if missing:
                shop.person.say(f"\n{step.name}: first {'; '.join(missing)}")
                continue
            one(shop, step, doing)
            count += 1
    except Later:
        shop.person.say("\nstopped here; the same command goes on from this step")
        return count
    shop.person.say("\nnothing else can be done now")
    return count


def one(shop: Shop, step: Step, doing: Mapping[str, Doing]) -> CommissioningStep | None:
    """Do one step and store it. Raises Later, with nothing stored, where the person stops before its end."""
    shop.person.say(f"\n{step.name} (needed for {step.blocks})\n  {step.do}\n  Expected: {step.expect}")
    result = doing[step.name](shop, step)
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
    return kept
