"""What was done to a part and how it went, as a workshop says it: the title and the verdict of a page."""

from itertools import groupby

from kilnctl.model.part import inside
from kilnctl.profile.segments import AnySegment, Cool, Profile, Ramp, Soak, goal_c
from kilnctl.report.achieved import Achieved, counted_s
from kilnctl.report.record import Record
from kilnctl.report.time_words import spoken
from kilnctl.stages import in_words
from kilnctl.units import say_duration

# A soak that only leads to another is not what a part is treated for.
ON_THE_WAY = ("preheat", "tune", "first firing")
FELL_K = 2.0  # further below the band than a reading scatters
TIMES = {1: "", 2: " twice", 3: " three times", 4: " four times"}
DONE = {
    "harden": "hardened",
    "temper": "tempered",
    "snap temper": "snap tempered",
    "normalise": "normalised",
    "anneal": "annealed",
    "stress relief": "stress relieved",
    "hold": "held",
}


def subject(record: Record) -> str:
    """Return what a record is about: the part and its steel, the profile where no part was named."""
    info = record.info
    named = info.part or info.profile_name
    return f"{named} · {info.steel}" if info.steel else named


def treatment(profile: Profile | None) -> str:
    """Return a profile as a workshop says it: "tempered twice at 218 °C for 2 h 00 min"."""
    if profile is None:
        return ""
    soaks = [s for _, s in treating(profile)]
    groups = [(purpose, list(group)) for purpose, group in groupby(soaks, key=lambda s: s.purpose)]
    said = [_soaks(purpose, group) + _held_lower(group) for purpose, group in groups]
    return ", ".join(said) or f"to {profile.peak_c:.0f} °C"


def treating(profile: Profile) -> list[tuple[int, Soak]]:
    """Return the soaks that the part is treated for: not those on the way, nor an oven's recovery by hand."""
    found: list[tuple[int, Soak]] = []
    moved = True
    for index, segment in enumerate(profile.segments):
        if isinstance(segment, Soak) and inside(profile, index):
            if moved and segment.purpose not in ON_THE_WAY:
                found.append((index, segment))
            moved = False
        moved = moved or isinstance(segment, Ramp | Cool)
    return found


def _soaks(purpose: str, soaks: list[Soak]) -> str:
    done = DONE.get(purpose, purpose)
    points = [f"{s.at_c:.0f}" for s in soaks]
    times = list(dict.fromkeys(spoken(s.soak_s) for s in soaks))
    each = f"for {times[0]}" if len(times) == 1 else f"for {_listed(times)}"
    if len(set(points)) == 1:
        from_ = "from" if purpose == "harden" else "at"
        after = each.replace("for", "after", 1) if purpose == "harden" else each
        return f"{done}{_times(len(soaks))} {from_} {points[0]} °C {after}{' each' if len(soaks) > 1 else ''}"
    return f"{done} at {_listed(points)} °C {each}{' each' if len(times) == 1 else ''}"


def _held_lower(soaks: list[Soak]) -> str:
    """Say where the sensor was held, where not on the goal: what elements see is hotter than the oven."""
    held = list(dict.fromkeys(f"{s.held_c:.0f}" for s in soaks if s.held_c < s.at_c))
    return f" (the sensor held at {_listed(held)} °C)" if held else ""


def _times(count: int) -> str:
    return TIMES.get(count, f" {count} times")


def _listed(words: list[str]) -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"


def verdict(record: Record, parts: tuple[Achieved, ...], amiss: tuple[str, ...] = ()) -> tuple[str, bool]:
    """Return the sentence that a page is read for, and whether the heat went as planned.

    `amiss` are the words of what happened that the plan did not ask for.
    """
    info = record.info
    if info.outcome != "complete":
        return _unfinished(record), False
    period_s = record.header.period_s
    short = [p for p in parts if p.soak_asked_s and (counted_s(p, period_s) or 0.0) < p.soak_asked_s]
    if short:
        late = "; ".join(f"{p.label}: {_short_by(p.soak_s or 0.0, p.soak_asked_s or 0.0)}" for p in short)
        return f"Finished, but not as planned: {late}.", False
    held = _held(record, parts)
    if amiss:
        what = _listed(list(dict.fromkeys(amiss)))
        return f"Finished{held}; but not as asked, see the result: {what}.", False
    doubt = record.verdict.gaps or record.verdict.lost or not record.verdict.chain_holds
    return f"Done as planned{held}{'; but see the marks on this page' if doubt else ''}.", not doubt


def _short_by(counted: float, asked_s: float) -> str:
    """Return what was counted of what was asked, in seconds where both are said alike."""
    had, wanted = spoken(counted), spoken(asked_s)
    return f"{asked_s - counted:.0f} s short of {wanted}" if had == wanted else f"{had} of {wanted}"


def _unfinished(record: Record) -> str:
    info, took = record.info, say_duration(record.curve.duration_s if len(record.curve) else 0.0)
    if record.goes_on:
        return f"Still running: {took} recorded so far."
    if not info.outcome:
        return f"Not finished: the record breaks off after {took}."
    how = {"tripped": "the heat was cut", "stopped": "it was stopped by hand"}.get(
        info.outcome, in_words(info.outcome)
    )
    why = f". {info.cause[:1].upper()}{info.cause[1:].rstrip('.')}" if info.cause else ""
    return f"Not finished: {how} after {took}{why}."


def _held(record: Record, parts: tuple[Achieved, ...]) -> str:
    """Return what the oven held in the soaks that the part was treated for."""
    profile = record.profile
    if profile is None:
        return ""
    wanted = {index for index, _ in treating(profile)}
    period_s = record.header.period_s
    soaks = [p for p in parts if p.index in wanted and p.low_c is not None and p.high_c is not None]
    said = []
    for goal, group in groupby(soaks, key=lambda p: goal_c(profile.segments[p.index])):
        same = list(group)
        credited = _listed(list(dict.fromkeys(spoken(counted_s(p, period_s) or 0.0) for p in same)))
        each = f"{_times(len(same))} for {credited}" if len(same) > 1 else f" for {credited}"
        said.append(f"{goal:.0f} °C{each}{_range(profile.segments[same[0].index], same)}")
    return f": held {_listed(said)}" if said else ""


def _range(segment: AnySegment, same: list[Achieved]) -> str:
    """Return between what the oven was; where it fell out of the band, that such time was not counted."""
    low_c, high_c = min(p.low_c or 0.0 for p in same), max(p.high_c or 0.0 for p in same)
    lowest_c = min(low_c if p.lowest_c is None else p.lowest_c for p in same)
    if isinstance(segment, Soak) and lowest_c < segment.held_c - segment.band_k - FELL_K:
        return f"; the oven fell to {lowest_c:.0f} °C in between, and only time in the band was counted"
    return f" (oven {low_c:.0f} to {high_c:.0f} °C)"
