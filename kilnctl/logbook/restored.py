"""Which entries came from a copy of another logbook, and where they belong among one's own.

A copy may be older than what was written here since: a heater pulse that passed last year says nothing
against the one that failed yesterday, whichever row was written last.
"""

from collections.abc import Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from kilnctl.logbook.readers import Entry

KIND, SUBJECT = "restored", "logbook"  # data: `numbers` of the entries that were taken over


def in_order(rows: "Sequence[Entry]", marks: "Sequence[Entry]") -> "list[Entry]":
    """Return one's own rows as they were written, and each restored one before what is dated later."""
    taken_over = {number for mark in marks for number in mark.data["numbers"]}
    foreign = [row for row in rows if row.number in taken_over]
    ordered = [row for row in rows if row.number not in taken_over]
    for row in foreign:
        later = (place for place, one in enumerate(ordered) if one.utc_s > row.utc_s)
        ordered.insert(next(later, len(ordered)), row)
    return ordered
