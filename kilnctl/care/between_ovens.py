"""One recipe in two ovens: which run in the other a part came from or went on to, and the time between."""

from kilnctl.clock import say_minute
from kilnctl.errors import ProfileError
from kilnctl.logbook.readers import Reader, RunInfo
from kilnctl.profile.segments import Operator, Profile
from kilnctl.tomlfile import loads
from kilnctl.units import say_duration

# Runs that are further apart are of another day's part.
APART_S = 48 * 3600.0


def came_from(reader: Reader, recipe: str, part: str, oven: str, in_utc: float) -> RunInfo | None:
    """Return the last run of a recipe in another oven that was over before the part came into this one."""
    runs = reader.runs(since_utc=in_utc - APART_S, until_utc=in_utc)
    return next((r for r in runs if _same(r, recipe, part, oven) and (r.ended_utc or 9e99) <= in_utc), None)


def went_on(reader: Reader, run: RunInfo) -> RunInfo | None:
    """Return the first run of this recipe in another oven into which the part came after this one."""
    ended_utc = run.ended_utc
    if ended_utc is None:
        return None
    runs = reader.runs(since_utc=ended_utc - APART_S, until_utc=ended_utc + APART_S)
    same = [r for r in runs if _same(r, run.recipe, run.part, run.oven)]
    later = [r for r in same if entered_utc(reader, r) >= ended_utc]
    return later[-1] if later else None


def _same(other: RunInfo, recipe: str, part: str, oven: str) -> bool:
    """True where a run is of the same recipe, the same part where it has a name, and another oven."""
    named = (other.recipe, other.part.casefold()) == (recipe, part.casefold())
    return bool(recipe) and other.oven != oven and named


def entered_utc(reader: Reader, run: RunInfo) -> float:
    """Return when the part came into the oven: at the first load that was answered, else with the start."""
    loads_in = {n for n, s in enumerate(_steps(reader, run.run)) if s == "load"}
    for event in reader.events(run.run):
        if event.kind == "segment" and event.data.get("segment") in loads_in:
            return event.utc_s
    return run.started_utc


def _steps(reader: Reader, run: int) -> list[str]:
    profile = _profile(reader, run)
    segments = () if profile is None else profile.segments
    return [s.step if isinstance(s, Operator) else "" for s in segments]


def _profile(reader: Reader, run: int) -> Profile | None:
    try:
        return loads(reader.header(run).profile, Profile, ProfileError, "the record's profile")
    except ProfileError:
        return None


def at_most_s(reader: Reader, run: int) -> float | None:
    """Return how long the part of a run may be on its way to the next oven, None where nothing is said."""
    profile = _profile(reader, run)
    last = None if profile is None else profile.segments[-1]
    return last.at_most_s if isinstance(last, Operator) and last.label.startswith("hand over") else None


def words_between(reader: Reader, first: RunInfo, second_in_utc: float) -> str:
    """Say how long a part was between two ovens, and whether that was too long."""
    took_s = max(0.0, second_in_utc - (first.ended_utc or second_in_utc))
    limit_s = at_most_s(reader, first.run)
    if limit_s is None:
        return f"{say_duration(took_s)} between"
    late = "TOO LATE: " if took_s > limit_s else ""
    return f"{late}{say_duration(took_s)} between, {say_duration(limit_s)} allowed"


def rows(reader: Reader, run: RunInfo) -> list[tuple[str, str]]:
    """Return what the record says of the other oven of its recipe, nothing where there was none."""
    found, after = list[tuple[str, str]](), went_on(reader, run)
    before = came_from(reader, run.recipe, run.part, run.oven, entered_utc(reader, run))
    if before is not None and before.ended_utc:
        between = words_between(reader, before, entered_utc(reader, run))
        found.append(
            ("before it", f"{before.oven}, run {before.run}, over {say_minute(before.ended_utc)}; {between}")
        )
    if after is not None:
        in_utc = entered_utc(reader, after)
        between = words_between(reader, run, in_utc)
        found.append(("after it", f"{after.oven}, run {after.run}, part in {say_minute(in_utc)}; {between}"))
    return found
