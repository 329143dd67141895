"""Where a heat stands, in the words that every screen, horn, telephone and record shares.

Run states are those of ISA-88 that a heat knows, plus tripped; outcomes are what the record keeps of them.
"""

from typing import Literal

RunState = Literal["running", "held", "complete", "stopped", "aborted", "tripped"]
OutcomeWord = Literal["complete", "tripped", "stopped", "ended_early"]

LIVE: tuple[RunState, ...] = ("running", "held")
# How a run ended, and with which exit code `kilnctl run` says so.
EXIT_CODES: dict[str, int] = {"complete": 0, "tripped": 4, "stopped": 5, "ended_early": 7}
REFUSED = 3  # the exit code of what was refused before heat

HOT_C = 50.0  # below this nobody is burnt, and the controller stops watching
# A wire is judged by its answers of so long, and by so many at least: fewer say too little of a share.
LINK_WINDOW_S, LINK_ANSWERS = 30.0, 120
# Common practice, no single source: call early enough to heat the oil, then to put the gloves on.
EARLY_S, SOON_S = 600.0, 120.0
# From ready on a part waits in the heat, longer than was meant; after this long at most it is late.
LATE_S = 300.0


def late_after_s(longest_s: float) -> float:
    """Return after how many seconds a step that may wait `longest_s` is late: half of that, 5 min at most."""
    return min(LATE_S, longest_s / 2.0)


def in_words(outcome: str) -> str:
    """Return an outcome as a person reads it ("ended early"); in files and JSON it is one word."""
    return {"aborted": "ended early"}.get(outcome, outcome.replace("_", " "))


def outcome_of(state: RunState, ended_by_itself: bool) -> OutcomeWord:
    """Return what the record says of a run that is over.

    `ended_by_itself` says that a step was not answered or not reached, and no fault of the program.
    """
    match state:
        case "complete" | "stopped":
            return state
        case "aborted" if ended_by_itself:
            return "ended_early"
    return "tripped"
