"""A part's whole story: what it is, its heats, what was measured, how often it was hot."""

from dataclasses import dataclass
from typing import Any

from kilnctl.care.going_on import going_on, how_it_ended, what_is_missing
from kilnctl.care.own_hardness import runs_of_part
from kilnctl.care.warp import pattern
from kilnctl.clock import say_minute
from kilnctl.logbook import entries
from kilnctl.logbook.readers import Entry, Reader, RunInfo
from kilnctl.units import say_duration

_KINDS: tuple[type[Any], ...] = (
    entries.PartEntry,
    entries.Hardness,
    entries.Warp,
    entries.AirCool,
    entries.Note,
)


@dataclass(frozen=True, slots=True)
class Story:
    """Dated lines (unix seconds, words), oldest first, and what they add up to.

    `over_700_s` and `over_800_s` are the part's seconds above those temperatures over all its real heats.
    """

    part: str
    lines: tuple[tuple[float, str], ...]
    over_700_s: float
    over_800_s: float
    hints: tuple[str, ...]


def story_of(
    reader: Reader, part: str, bare_limit_s: float | None = None, now_utc: float | None = None
) -> Story:
    """Return the story of a part, empty where nothing is known of it.

    `bare_limit_s` is the recipe's limit of time above 800 degC without protection; `now_utc` tells a run that
    goes on from one that broke off (None: none goes on).
    """
    runs = runs_of_part(reader, part)
    dated = [
        (run.started_utc, _run_words(run, now_utc is not None and going_on(reader, run, now_utc)))
        for run in runs
    ]
    for row in reader.entries(subject=part):
        words = _entry_words(row)
        if words:
            dated.append((row.utc_s, words))
    real = [run for run in runs if not run.simulated]
    over_700_s, over_800_s = (sum(getattr(r, n) or 0.0 for r in real) for n in ("over_700_s", "over_800_s"))
    return Story(
        part, tuple(sorted(dated)), over_700_s, over_800_s, _hints(reader, part, over_800_s, bare_limit_s)
    )


def _hints(reader: Reader, part: str, over_800_s: float, limit_s: float | None) -> tuple[str, ...]:
    found = []
    if limit_s is not None:
        over = over_800_s > limit_s
        beside = "over the limit of" if over else "within the limit of"
        skin = ": soft skin is likely, leave a grinding allowance" if over else ""
        found.append(
            f"{say_duration(over_800_s)} above 800 °C in all, {beside} {say_duration(limit_s)}{skin}"
        )
    common = pattern(entries.read(reader, entries.Warp))
    if common and entries.read(reader, entries.Warp, part):
        found.append(f"warp of the last parts: {common}")
    return tuple(found)


def _run_words(run: RunInfo, goes_on: bool) -> str:
    missing = what_is_missing(run, goes_on)
    marks = ("SIMULATED " if run.simulated else "") + (f"INCOMPLETE ({missing})" if missing else "")
    peak = f", peak {run.peak_c:.0f} °C" if run.peak_c is not None else ""
    took = f", {say_duration(run.duration_s)}" if run.duration_s else ""
    hot = f", {say_duration(run.over_800_s)} above 800 °C" if run.over_800_s else ""
    ended = how_it_ended(run, goes_on)
    cause = f" ({run.cause})" if run.cause else ""
    return f"run {run.run} {run.profile_name} in {run.oven}: {ended}{cause}{took}{peak}{hot} {marks}".rstrip()


def _entry_words(row: Entry) -> str:
    kind = next((k for k in _KINDS if k.kind == row.kind), None)
    if kind is None:
        return ""
    words = _words(entries.of_row(row, kind))
    return f"{words} (corrects an earlier entry)" if row.corrects else words


def _words(entry: Any) -> str:
    match entry:
        case entries.PartEntry():
            bar = f", {entry.bar}" if entry.bar else ""
            section = f", {entry.section_mm:g} mm" if entry.section_mm else ""
            who = f", for {entry.customer}" if entry.customer else ""
            where = f", {entry.position} in the load" if entry.position else ""
            return f"{entry.quantity} of {entry.steel or 'unstated steel'}{bar}{section}{where}{who}"
        case entries.Hardness():
            return f"hardness by {entry.method}: {entry.words}"
        case entries.Warp():
            return f"warp: {entry.bow_mm:g} mm to the {entry.side}"
        case entries.AirCool():
            return f"cooled in air: {entry.words}"
        case _:
            return f"note: {entry.text}"


def lines(story: Story) -> list[str]:
    """Return the story as lines of text."""
    out = [story.part]
    out += [f"  {say_minute(at)}  {words}" for at, words in story.lines]
    if story.over_700_s:
        over_700, over_800 = say_duration(story.over_700_s), say_duration(story.over_800_s)
        hot = f"above 700 °C {over_700}, above 800 °C {over_800}"
        out.append(f"  total over all heats: {hot} (real runs; the part's estimate where there is one)")
    return out + [f"  {hint}" for hint in story.hints]
