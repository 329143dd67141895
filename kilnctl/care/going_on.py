"""Whether a run without an end goes on or broke off: said alike by every list, page and command."""

from kilnctl.logbook.readers import Reader, RunInfo
from kilnctl.marks import ovens_in_charge, running_ovens
from kilnctl.stages import in_words

# A run whose newest sample is younger than this goes on (real seconds; an oven's tick is 5 s at most).
FRESH_S = 15.0
RUNNING, NO_END = "running", "no end"


def going_on(reader: Reader, run: RunInfo, now_utc: float) -> bool:
    """True while a run is written to: it has no end, and its newest sample (or its start) is of just now.

    Its oven is marked as running then, by a process that lives: a heat whose controller was killed is over.
    """
    if run.outcome or not ovens_in_charge.is_marked(run.oven) or running_ovens.orphaned(run.oven):
        return False
    newest = reader.newest(run.run)
    return abs(now_utc - (run.started_utc if newest is None else newest.utc_s)) < FRESH_S


def runs_going_on(reader: Reader, now_utc: float) -> frozenset[int]:
    """Return the numbers of all runs that go on."""
    return frozenset(r.run for r in reader.runs(outcome="incomplete") if going_on(reader, r, now_utc))


def how_it_ended(run: RunInfo, goes_on: bool) -> str:
    """Return how a run ended in words, or that it runs, or that it has no end."""
    return RUNNING if goes_on else in_words(run.outcome) or NO_END


def what_is_missing(run: RunInfo, goes_on: bool) -> str:
    """Return what a record lacks, empty where it lacks nothing; the end of a run that goes on is to come."""
    return "" if goes_on or run.complete else run.why_incomplete
