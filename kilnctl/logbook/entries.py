"""What is known of ovens and parts besides their runs: typed entries, never changed, only corrected.

`add` writes one, `read` returns those in force: an entry that a later one corrects is left out (it stays in
the file, and `history` shows it). Times are unix seconds.
"""

from collections.abc import Iterator
from dataclasses import asdict, dataclass, field
from typing import Any, ClassVar, Protocol, TypeVar, cast

from kilnctl.logbook.readers import Entry, Reader
from kilnctl.logbook.restored import KIND as RESTORED
from kilnctl.logbook.restored import in_order
from kilnctl.logbook.writer import Logbook


class Typed(Protocol):
    """Any dataclass below: `kind` names it in the file, `about` the field that holds its subject."""

    kind: ClassVar[str]
    about: ClassVar[str]


@dataclass(frozen=True, slots=True)
class CommissioningStep:
    """The result of one set-up step of an oven; `value` in `unit`, None where it is yes or no.

    `expires_utc` is None for a step that does not expire; `oven_hash` the hash of the oven file
    it was done with, `rests_on` the values of its keys that the step proved something of (None: an older
    program kept none).
    """

    kind: ClassVar[str] = "commissioning"
    about: ClassVar[str] = "oven"
    oven: str
    step: str
    passed: bool
    value: float | None = None
    unit: str = ""
    expires_utc: float | None = None
    note: str = ""
    who: str = ""
    oven_hash: str = ""
    data: dict[str, Any] = field(default_factory=dict)
    rests_on: dict[str, Any] | None = None


@dataclass(frozen=True, slots=True)
class LearnedOven:
    """An oven model as it was fitted: parameters, their uncertainty and where the data came from.

    `rests_on` are the values of the oven file's keys that it was learned with, as in CommissioningStep.
    """

    kind: ClassVar[str] = "learned"
    about: ClassVar[str] = "oven"
    oven: str
    model: dict[str, Any]
    run: int | None = None
    note: str = ""
    rests_on: dict[str, Any] | None = None


@dataclass(frozen=True, slots=True)
class OvenChange:
    """What a heat found changed on an oven since it was learned: factors on sensor lag and heater power.

    `learned` is the number of the entry with the model that the factors belong to; with another model they
    say nothing. Factors of 1 take an earlier change back. `lag_sd` and `power_sd` belong to the logarithms.
    """

    kind: ClassVar[str] = "oven change"
    about: ClassVar[str] = "oven"
    oven: str
    learned: int
    lag: float = 1.0
    power: float = 1.0
    lag_sd: float = 0.0
    power_sd: float = 0.0
    run: int | None = None
    note: str = ""


@dataclass(frozen=True, slots=True)
class LatchChange:
    """A trip that latched, or the reset that released it (with the note that was typed)."""

    kind: ClassVar[str] = "latch"
    about: ClassVar[str] = "oven"
    oven: str
    change: str
    trip_kind: str
    reason: str
    reset_class: str = ""
    note: str = ""
    who: str = ""
    run: int | None = None


@dataclass(frozen=True, slots=True)
class Message:
    """A message that was sent, with its receipt: `delivered` says that the channel's server took it.

    `told` is the kind of news. No address is kept: it may hold a key.
    """

    kind: ClassVar[str] = "message"
    about: ClassVar[str] = "oven"
    oven: str
    told: str
    channel: str
    delivered: bool
    took_s: float
    why: str = ""
    run: int | None = None


@dataclass(frozen=True, slots=True)
class PartEntry:
    """A part or a batch of parts: what it is made of, where it belongs, its `position` in the load."""

    kind: ClassVar[str] = "part"
    about: ClassVar[str] = "part"
    part: str
    steel: str = ""
    bar: str = ""
    section_mm: float | None = None
    quantity: int = 1
    customer: str = ""
    note: str = ""
    position: str = ""


@dataclass(frozen=True, slots=True)
class Calibration:
    """A correction of one sensor of an oven: corrected = gain * reading + offset_c.

    `points` are (reading, reference) pairs in degC; `as_found_k` and `as_left_k` the largest error measured
    before and after (None where nobody measured again); `reference` names the reference instrument,
    `reference_k` is its own limit of error as stated, `point_k` how well each point is known with it.
    One without points that moves nothing takes an earlier one away.
    """

    kind: ClassVar[str] = "calibration"
    about: ClassVar[str] = "oven"
    oven: str
    sensor: str
    gain: float
    offset_c: float
    points: tuple[tuple[float, float], ...]
    as_found_k: float
    as_left_k: float | None
    reference: str
    who: str = ""
    note: str = ""
    reference_k: float | None = None
    point_k: float | None = None

    @property
    def taken_away(self) -> bool:
        """True where this is no correction but the end of one."""
        return not self.points and (self.gain, self.offset_c) == (1.0, 0.0)


@dataclass(frozen=True, slots=True)
class Count:
    """An addition to a counter that no run keeps by itself (an oil quench, a foil used up).

    `what` is the counter, `of` the thing counted.
    """

    kind: ClassVar[str] = "count"
    about: ClassVar[str] = "of"
    of: str
    what: str
    amount: float = 1.0
    run: int | None = None
    note: str = ""


@dataclass(frozen=True, slots=True)
class Reminder:
    """Something that is due every so many days, or when a counter reaches its limit: the owner's values.

    A newer reminder for the same `of` and `what` replaces the older one.
    """

    kind: ClassVar[str] = "reminder"
    about: ClassVar[str] = "of"
    of: str
    what: str
    every_days: float | None = None
    counter: str = ""
    limit: float | None = None
    note: str = ""


@dataclass(frozen=True, slots=True)
class CareDone:
    """Something has been looked after or replaced: its days and its counter start anew."""

    kind: ClassVar[str] = "done"
    about: ClassVar[str] = "of"
    of: str
    what: str
    note: str = ""
    who: str = ""


@dataclass(frozen=True, slots=True)
class Survey:
    """A uniformity survey: what sensors at named positions read while the oven was held at `at_c`.

    `most_c` is the highest that any of them read on the way there, None where nobody has written it down.
    `rests_on` are the values of the oven file's keys that it was made with, as in CommissioningStep.
    """

    kind: ClassVar[str] = "survey"
    about: ClassVar[str] = "oven"
    oven: str
    at_c: float
    readings: tuple[tuple[str, float], ...]
    low_k: float
    high_k: float
    loaded: bool = False
    who: str = ""
    note: str = ""
    most_c: float | None = None
    rests_on: dict[str, Any] | None = None


@dataclass(frozen=True, slots=True)
class Hardness:
    """A hardness test of a part, as found: readings of a tester, or files that skate or cut.

    `readings` and `block` are in the tester's `scale`; `low_hrc` and `high_hrc` are what follows from them
    (None where open); `bare_metal` whether the spot was ground clean of scale and soft skin.
    """

    kind: ClassVar[str] = "hardness"
    about: ClassVar[str] = "part"
    part: str
    method: str
    low_hrc: float | None
    high_hrc: float | None
    words: str
    readings: tuple[float, ...] = ()
    files: tuple[tuple[float, str], ...] = ()
    block: tuple[float, float] | None = None
    bare_metal: bool = False
    run: int | None = None
    where: str = ""
    who: str = ""
    scale: str = "HRC"


@dataclass(frozen=True, slots=True)
class Warp:
    """How a part came out of the quench: bow in mm over a length, towards which side."""

    kind: ClassVar[str] = "warp"
    about: ClassVar[str] = "part"
    part: str
    bow_mm: float
    side: str
    length_mm: float | None = None
    quench: str = ""
    clamp_s: float | None = None
    run: int | None = None
    note: str = ""


@dataclass(frozen=True, slots=True)
class AirCool:
    """How a part cooled in air outside the oven: from `from_c` to `to_c` in `took_s`; `by` what was read."""

    kind: ClassVar[str] = "air cool"
    about: ClassVar[str] = "part"
    part: str
    from_c: float
    to_c: float
    took_s: float
    by: str = "thermometer"
    run: int | None = None
    who: str = ""

    @property
    def words(self) -> str:
        """Return it in words: "700 to 500 °C in 95 s, by thermometer"."""
        return f"{self.from_c:.0f} to {self.to_c:.0f} °C in {self.took_s:.0f} s, by {self.by}"


@dataclass(frozen=True, slots=True)
class Note:
    """A word about a part that belongs in its story (disposition, what the customer said)."""

    kind: ClassVar[str] = "note"
    about: ClassVar[str] = "part"
    part: str
    text: str
    run: int | None = None
    who: str = ""


T = TypeVar("T")


def add(
    book: Logbook, entry: Typed, utc_s: float, *, run: int | None = None, corrects: int | None = None
) -> int:
    """Write an entry and return its number. `corrects` is the number of an entry that this one replaces."""
    own_run = run if run is not None else getattr(entry, "run", None)
    data = asdict(cast(Any, entry))
    return book.add_entry(entry.kind, getattr(entry, entry.about), data, utc_s, own_run, corrects)


def read(reader: Reader, kind: type[T], subject: str | None = None, run: int | None = None) -> list[T]:
    """Return the entries of a kind that are in force, oldest first."""
    return [entry for _, entry in in_force(reader, kind, subject, run)]


def in_force(
    reader: Reader, kind: type[T], subject: str | None = None, run: int | None = None
) -> Iterator[tuple[Entry, T]]:
    """Yield (row, entry) of those entries that no later one corrects, oldest first."""
    rows = in_order(reader.entries(cast(Any, kind).kind, subject), reader.entries(RESTORED))
    corrected = {row.corrects for row in rows}
    for row in rows:
        if row.number not in corrected and run in (None, row.run):
            yield row, of_row(row, kind)


def newest(reader: Reader, kind: type[T], subject: str) -> tuple[Entry, T] | None:
    """Return the newest entry of a kind about a subject, with its row (number and date)."""
    found = list(in_force(reader, kind, subject))
    return found[-1] if found else None


def of_row(row: Entry, kind: type[T]) -> T:
    """Return a row as its typed entry; keys of a newer program are left out."""
    fields = cast(Any, kind).__dataclass_fields__
    data = {k: _tuples(v) if isinstance(v, list) else v for k, v in row.data.items() if k in fields}
    return kind(**data)


def _tuples(value: Any) -> Any:
    return tuple(_tuples(v) for v in value) if isinstance(value, list) else value
