"""An oven file with an answer changed, put in the place of the old one; what that is worth is said."""

import difflib
import shutil
from collections.abc import Iterator
from pathlib import Path

from kilnctl.clock import RealClock
from kilnctl.config import home
from kilnctl.config.oven import Oven
from kilnctl.errors import ConfigError, RecordError
from kilnctl.logbook.readers import Reader
from kilnctl.marks import durable_write
from kilnctl.permits.open_steps import open_or_overdue
from kilnctl.permits.setup_steps import STEPS
from kilnctl.permits.step_results import hash_of, results
from kilnctl.tomlfile import loads


def mistakes(text: str, file: str) -> list[str]:
    """Return what is wrong with the text of an oven file, a line for each."""
    try:
        loads(text, Oven, ConfigError, file)
    except ConfigError as e:
        return str(e).splitlines()
    return []


def put_in_place(path: Path, after: str) -> Path:
    """Keep the file as it was beside it, then put the new one in its place. Raises ConfigError."""
    number = next(n for n in range(1, 1000) if not path.with_name(f"{path.name}.before-{n}").exists())
    kept = path.with_name(f"{path.name}.before-{number}")
    try:
        shutil.copy2(path, kept)
        durable_write.write(path, after)
    except OSError as e:
        raise ConfigError(f"{path}: cannot be written: {e.strerror}") from None
    return kept


def told(path: Path, typed: str, before: str, after: str, kept: Path) -> Iterator[str]:
    """Yield what was written, the lines that differ, and which set-up steps no longer count."""
    yield f"\n{path} written; as it was: {kept.name}."
    for line in difflib.unified_diff(before.splitlines(), after.splitlines(), n=0, lineterm=""):
        if line[0] in "+-" and line[:3] not in ("+++", "---"):
            yield f"  {'was' if line[0] == '-' else 'now'}: {line[1:]}"
    yield "Comments stay as they were: see whether they are still true."
    void = _void(loads(after, Oven, ConfigError, path.name), before, after, path.name)
    if void:
        yield f"To be done again, for it rested on that: {'; '.join(void)}."
    yield f"Next: `kilnctl oven check {typed}`, then `kilnctl commission {typed}`"


def _void(oven: Oven, before: str, after: str, file: str) -> tuple[str, ...]:
    """Return the set-up steps that counted before the change and no longer do, each with why."""
    try:
        with Reader(home.logbook_path()) as reader:
            done = results(reader, oven.name)
    except RecordError:  # no logbook yet: nothing was proved
        return ()
    now_s = RealClock().utc().timestamp()
    steps = [step for step in STEPS if step.name in done]
    if not mistakes(before, file):
        old, before_hash = loads(before, Oven, ConfigError, file), hash_of(before)
        steps = [step for step in steps if not open_or_overdue([step], done, now_s, old, before_hash)]
    return open_or_overdue(steps, done, now_s, oven, hash_of(after))
