"""Taking a latch away: at the machine, with a note, and only when the readings have been good for a while."""

import contextlib
from collections.abc import Callable, Iterable, Iterator
from datetime import datetime
from pathlib import Path

from kilnctl.clock import Clock
from kilnctl.config import home
from kilnctl.config.oven import Oven, load_oven
from kilnctl.devices.bus_registry import Buses
from kilnctl.devices.interfaces import OvenIO
from kilnctl.devices.oven_io import open_oven_io
from kilnctl.errors import ConfigError, KilnctlError, RunRefused
from kilnctl.logbook import entries
from kilnctl.logbook.readers import Reader
from kilnctl.logbook.writer import Logbook
from kilnctl.marks import hot_ovens, latch, reset_conditions, running_ovens
from kilnctl.marks.ovens_in_charge import is_there
from kilnctl.permits.good_readings import good_readings
from kilnctl.stages import HOT_C
from kilnctl.tomlfile import loads


def reset_latch(
    oven: Oven,
    note: str,
    repaired: bool,
    clock: Clock,
    time_scale: float,
    tell: Callable[[str], object],
    prove: Callable[[OvenIO], object] = lambda _oven_io: None,
    buses: Buses | None = None,
) -> latch.Latched:
    """Release the latch of an oven: heat off first, then good readings, then what its class asks for.

    `prove` raises RunRefused where the person cannot show that he is at the machine; that is recorded.
    Raises RunRefused with what stands in the way, DeviceError where the oven cannot be read.
    """
    said = latch.read(oven.name)
    if said is None:
        raise RunRefused(f'oven "{oven.name}" is not latched')
    another = reset_conditions.why_another(said, oven, repaired)
    if another:
        raise RunRefused(another)
    reset_conditions.check_note(note)
    now = clock.utc()
    passed = _passed_since(said)
    missing = reset_conditions.why_not_reset(said, now, reset_conditions.GOOD_S, passed, repaired)
    if missing:
        raise RunRefused(f"{said.line()}; still missing: {'; '.join(missing)}")
    oven_io = open_oven_io(oven, clock, time_scale, buses)
    try:
        oven_io.connect()
        scan = good_readings(oven_io, oven, clock, tell)
        prove(oven_io)
    except RunRefused as e:
        _record(said, now, f"{note} ({e})", "reset refused")
        raise
    finally:
        oven_io.close()
    released = reset_conditions.reset(oven.name, note, now)
    running_ovens.clear(oven.name)
    if scan.process.value is not None and scan.process.value < HOT_C:
        hot_ovens.clear(oven.name)
    _record(released, now, note)
    return released


def oven_named(name: str) -> Oven:
    """Return the known oven whose own name this is. Raises ConfigError."""
    said = latch.read(name)
    found = [oven for oven in _all_ovens(name) if oven.name == name]
    if sound := [oven for oven in found if said is None or not reset_conditions.why_another(said, oven)]:
        there = (one for one in sound if all(is_there(port.path) for port in one.port.values()))
        return next(there, sound[0])  # an adapter may have come back under another name
    if found:
        return found[0]  # which is then refused by name of what differs
    raise ConfigError(f'no oven file of "{name}" is known; give its file: --oven FILE')


def _all_ovens(latched: str) -> Iterator[Oven]:
    """Yield ovens: one that may be hot, the owner's files, the one that was run, the bundled ones."""
    files = home.known("ovens").values()
    own = [path for path in files if path.is_relative_to(home.home())]
    yield from running_ovens.marked()
    yield from _readable(own)
    yield from _as_it_was_run(latch.read(latched))
    yield from _readable([path for path in files if path not in own])


def _readable(paths: Iterable[Path]) -> Iterator[Oven]:
    for path in paths:
        with contextlib.suppress(ConfigError):
            yield load_oven(path)


def _as_it_was_run(latched: latch.Latched | None) -> Iterator[Oven]:
    """Yield the oven of the run that latched it: a bundled file of that name may be another machine."""
    with contextlib.suppress(KilnctlError):
        if latched is not None and latched.run is not None:
            with Reader(home.logbook_path()) as reader:
                text = reader.header(latched.run).oven_file
            yield loads(text, Oven, ConfigError, f"oven file of run {latched.run}")


def _passed_since(latched: latch.Latched) -> set[str]:
    path = home.logbook_path()
    if not latched.utc or not path.exists():
        return set()
    since_s = datetime.fromisoformat(latched.utc).timestamp()
    with Reader(path) as book:
        rows = book.entries(kind=entries.CommissioningStep.kind, subject=latched.oven)
        steps = [(row.utc_s, entries.of_row(row, entries.CommissioningStep)) for row in rows]
    return {step.step for at_s, step in steps if step.passed and at_s > since_s}


def _record(released: latch.Latched, now: datetime, note: str, change: str = "reset") -> None:
    entry = entries.LatchChange(
        released.oven,
        change,
        released.kind,
        released.reason,
        reset_class=released.reset,
        note=note,
        run=released.run,
    )
    with Logbook(home.logbook_path()) as book:
        entries.add(book, entry, now.timestamp())
