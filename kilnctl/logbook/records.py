"""What a run's record consists of besides its samples, and how the chain over it is computed."""

import hashlib
import json
from dataclasses import asdict, dataclass, field
from typing import Any

from kilnctl.errors import RecordError


def canonical(data: Any) -> str:
    """Return data as JSON text that is always the same for the same data. NaN raises ValueError."""
    return json.dumps(data, sort_keys=True, ensure_ascii=False, separators=(",", ":"), allow_nan=False)


def digest(before: bytes, *parts: str | bytes) -> bytes:
    """Return the SHA-256 chain value of parts that follow the value `before`; every part is length-marked."""
    h = hashlib.sha256(before)
    for part in parts:
        raw = part if isinstance(part, bytes) else part.encode()
        h.update(f"{len(raw)}:".encode())
        h.update(raw)
    return h.digest()


def short_hash(seal: bytes) -> str:
    """Return the short form that is printed and sent: sixteen hex digits in groups of four."""
    text = seal.hex()[:16]
    return "-".join(text[i : i + 4] for i in range(0, 16, 4))


def loaded(text: str, what: str) -> dict[str, Any]:
    """Return the JSON data of a stored text. Raises RecordError where it is damaged."""
    try:
        data = json.loads(text)
    except (ValueError, TypeError, RecursionError):
        data = None
    if not isinstance(data, dict):
        raise RecordError(f"{what} in the logbook is damaged; `kilnctl verify` says where")
    return data


@dataclass(frozen=True, slots=True)
class RunHeader:
    """All that is known when a run starts. `started_utc` is unix time, `period_s` the time between samples.

    `oven_file` and `profile` are the whole TOML texts that the run used; `commissioning` and `learned` the
    numbers of the logbook entries in force; `previous` is filled in by the logbook: the chain value of the
    run before, so that a run that has been taken out is missed.
    """

    oven: str
    oven_file: str
    profile: str
    profile_name: str
    started_utc: float
    recipe: str = ""
    revision: int = 1
    steel: str = ""
    part: str = ""
    operator: str = ""
    unattended: bool = False
    simulated: bool = False
    time_scale: float = 1.0
    software: str = ""
    period_s: float | None = None
    commissioning: tuple[int, ...] = ()
    learned: int | None = None
    extra: dict[str, Any] = field(default_factory=dict)
    previous: str = ""

    def text(self) -> str:
        """Return the header as canonical JSON; NaN in `extra` raises ValueError."""
        return canonical(asdict(self))

    @staticmethod
    def of(text: str) -> "RunHeader":
        """Read a header back; keys of a newer program are left out. Raises RecordError for damage."""
        data = loaded(text, "the header of a run")
        known = {k: v for k, v in data.items() if k in RunHeader.__dataclass_fields__}
        try:
            return RunHeader(**{**known, "commissioning": tuple(known.get("commissioning", ()))})
        except TypeError:
            raise RecordError("the header of a run in the logbook is damaged") from None


@dataclass(frozen=True, slots=True)
class Event:
    """Something that happened: `at_s` in the run's own seconds, `utc_s` unix time, `data` plain JSON."""

    at_s: float
    utc_s: float
    kind: str
    text: str
    data: dict[str, Any] = field(default_factory=dict)

    def link(self, before: bytes, place: int) -> bytes:
        """Return the chain value of this event at its place in the run."""
        where = f"{place}:{float(self.at_s)!r}:{float(self.utc_s)!r}"
        return digest(before, where, self.kind, self.text, canonical(self.data))


def seal_of(header_hash: bytes, samples: int, blocks: bytes, events: int, chain: bytes, end: str) -> bytes:
    """Return the chain value over a whole run: header, samples, events and end."""
    return digest(header_hash, f"{samples}", blocks, f"{events}", chain, end)


def end_text(
    outcome: str, ended_utc: float, duration_s: float, gaps: int, lost: int, summary: dict[str, Any]
) -> str:
    """Return the end of a run as the text that is sealed."""
    return canonical([outcome, ended_utc, duration_s, gaps, lost, summary])


def entry_link(
    before: bytes, kind: str, subject: str, run: int | None, utc_s: float, corrects: int | None, data: str
) -> bytes:
    """Return the chain value of an entry; `data` is its JSON text."""
    return digest(before, canonical([kind, subject, run, float(utc_s), corrects]), data)
