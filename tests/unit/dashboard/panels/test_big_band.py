"""The band at the top: a call is no fault, and no letter is cut."""

import dataclasses

import pytest
from dashboard.feed import STATES, heating

from kilnctl.dashboard import formatting
from kilnctl.dashboard.drawing.big_font import big
from kilnctl.dashboard.panels.big_band import band, coming
from kilnctl.dashboard.view_state import View


def test_a_call_for_a_person_looks_like_no_fault_and_no_calm() -> None:
    """Dark letters on a plate, in no colour of an alarm; a late one is an alarm."""
    for name in ("waiting for you", "ready to quench"):
        assert formatting.FACES[name].style == "call"
        assert formatting.FACES[formatting.LATE[name]].style == "urgent"
    reversed_rows = {
        name: sum("reverse" in str(span.style) for span in band(View(state()), 78, 6).spans)
        for name, state in STATES.items()
    }
    assert [name for name, rows in reversed_rows.items() if rows > 3] == ["ready", "waiting"]


@pytest.mark.parametrize("seconds", [109.0, 1680.0, 5280.0, 35940.0])
@pytest.mark.parametrize(("width", "height", "scale"), [(118, 6, 1), (198, 10, 2)])
def test_the_large_time_is_never_cut(seconds: float, width: int, height: int, scale: int) -> None:
    """At 200 columns "28 MIN" once lost the last stroke of its N."""
    v = View(dataclasses.replace(heating(), segment_left_s=seconds))
    said = band(v, width, height).plain
    written = [big(word, scale)[2].rstrip() for word in (coming(v)[1], coming(v)[1].replace(" ", ""))]
    assert any(row in said for row in written), said
