"""The shop's measured hardness with the temper that made it, grade by grade, out of the logbook.

Only what can be trusted counts: real heats that ended complete, and tests on bare metal. What is left out is
counted, so that nothing is dropped in silence.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from kilnctl.errors import KilnctlError, ProfileError
from kilnctl.logbook.entries import Hardness, in_force
from kilnctl.logbook.readers import Reader, RunInfo
from kilnctl.profile.segments import Profile, Soak
from kilnctl.tomlfile import loads
from kilnctl.treatment.steel.grade_names import plain
from kilnctl.treatment.steel.hardness_scales import CONVERSION_HRC
from kilnctl.treatment.steel.own_results import OwnResult
from kilnctl.treatment.steel.steels import Steel
from kilnctl.treatment.steel.temper.dose import MEASURED_CONSTANT, equal_time_s

TESTER_HRC, LEAST_HRC = 1.0, 0.5
WIDEST_HRC = 6.0  # of a pair of files: wider says nothing


@dataclass(frozen=True, slots=True)
class OwnHardness:
    """The usable results of a grade, and how many tests were left out, with the reason."""

    results: tuple[OwnResult, ...] = ()
    left_out: tuple[str, ...] = ()


def own_hardness(reader: Reader, steel: Steel) -> OwnHardness:
    """Return what the logbook knows of a grade."""
    names = {plain(name) for name in (steel.grade, *steel.also_called)}
    done = [run for run in reader.runs(outcome="complete") if not run.simulated]
    runs = [(run, profile_of(reader, run)) for run in done if plain(run.steel) in names]
    found, left_out = [], []
    for row, test in in_force(reader, Hardness):
        before = [
            profile for run, profile in runs if run.started_utc <= row.utc_s and _in(test, run, profile)
        ]
        heats = [heat for profile in before for heat in _tempers(profile)]
        if not heats:
            continue
        why = _why_not(test)
        if why:
            left_out.append(f"{test.part}: {why}")
        else:
            found.append(_result(test, heats))
    return OwnHardness(tuple(found), tuple(left_out))


def _why_not(test: Hardness) -> str:
    if not test.bare_metal:
        return "not on bare metal"
    if test.low_hrc is None or test.high_hrc is None:
        return "open to one side"
    return "the files are too far apart" if test.high_hrc - test.low_hrc > WIDEST_HRC else ""


def profile_of(reader: Reader, run: RunInfo) -> Profile | None:
    """Return the profile that a run followed, None where it cannot be read any more."""
    try:
        return loads(reader.header(run.run).profile, Profile, ProfileError, run.profile_name)
    except KilnctlError:
        return None


def runs_of_part(reader: Reader, part: str) -> list[RunInfo]:
    """Return the runs of a part, newest first: those of its name, and those that had it in a load."""
    maybe = {row[0] for row in reader.rows("SELECT id FROM run WHERE instr(header, ?)", [part])}
    return [
        run
        for run in reader.runs()
        if run.part == part or (run.run in maybe and part in _parts_of(profile_of(reader, run)))
    ]


def _parts_of(profile: Profile | None) -> tuple[str, ...]:
    return () if profile is None else profile.parts


def _in(test: Hardness, run: RunInfo, profile: Profile | None) -> bool:
    """True where a tested part was in a run, by its name or among the parts of a load."""
    return run.part == test.part or test.part in _parts_of(profile)


def _tempers(profile: Profile | None) -> list[tuple[float, float]]:
    """Return the tempers of a profile as (degC, seconds)."""
    soaks = [s for s in profile.segments if isinstance(s, Soak)] if profile is not None else []
    return [(s.at_c, s.soak_s) for s in soaks if s.purpose == "temper" and s.clock == "part"]


def _result(test: Hardness, heats: Sequence[tuple[float, float]]) -> OwnResult:
    """Return a test with all its tempers as time at the hottest."""
    hottest_c = max(at_c for at_c, _ in heats)
    time_s = sum(equal_time_s(at_c, s, hottest_c, MEASURED_CONSTANT) for at_c, s in heats)
    low, high = test.low_hrc or 0.0, test.high_hrc or 0.0
    spread = (high - low) / 12.0**0.5
    tester = TESTER_HRC / max(1, len(test.readings)) ** 0.5
    if test.scale != "HRC":  # a conversion's limit of error, as a standard deviation
        tester = math.hypot(tester, CONVERSION_HRC / 3.0**0.5)
    error = max(LEAST_HRC, spread if test.method == "files" else tester)
    return OwnResult(test.part, hottest_c, time_s, (low + high) / 2, error)
