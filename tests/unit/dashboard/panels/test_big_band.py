"""The band at the top: a call is no fault, and no letter is cut."""

import dataclasses
from collections.abc import Callable
from typing import Literal

import pytest
from dashboard.feed import STATES, heating, held, tempering

from kilnctl.dashboard import formatting
from kilnctl.dashboard.drawing.big_font import big, height_of, on_plate, width_of
from kilnctl.dashboard.panels.big_band import band, band_scale, band_starts, coming, widest_number
from kilnctl.dashboard.view_state import View
from kilnctl.link.snapshot import Snapshot


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


@pytest.mark.parametrize("height", [4, 5])
def test_dark_letters_do_not_touch_the_lower_edge_of_their_plate(height: int) -> None:
    """Without air below, "WAITING" was a comb of white bars at three metres."""
    lowest = on_plate("WAITING", 1, height)[-1]
    assert set(lowest) <= {" ", "▀"}
    assert len(on_plate("WAITING", 1, height)) == height >= height_of(1)


@pytest.mark.parametrize("width", [78, 98, 102, 118, 158, 198])
@pytest.mark.parametrize("state", [heating, tempering])
@pytest.mark.parametrize("unit", ["C", "F"])
def test_two_large_words_are_further_apart_than_two_letters(
    width: int, state: Callable[[], Snapshot], unit: Literal["C", "F"]
) -> None:
    """At 200 columns it once read "HEATING742", in degF "13681472" at every size."""
    scale, v = band_scale(width, 10 if width > 120 else 6), View(state(), formatting.Degrees(unit))
    number = widest_number(v)
    starts = band_starts(width, scale, number)
    ends = [
        start + width_of(word, scale)
        for start, word in zip(starts, ("HEATING", number, number), strict=False)
    ]
    gaps = [start - end for start, end in zip(starts[1:], ends, strict=False)]
    assert all(gap >= 3 * scale for gap in gaps), (starts, ends)
    assert ends[-1] <= width


@pytest.mark.parametrize("unit", ["C", "F"])
def test_at_200_columns_the_next_event_has_room_in_both_units(unit: Literal["C", "F"]) -> None:
    """Four figures leave it smaller letters, not none."""
    said = band(View(heating(), formatting.Degrees(unit)), 198, 10).plain
    assert any(row in said for scale in (1, 2) for row in big("17 MIN", scale)[2:3])
    assert "soak in" in said


def test_a_plan_that_waits_for_the_door_promises_no_time() -> None:
    """The plan stands still while the door is open; "soak in 17 min" went on."""
    assert coming(View(held())) == ("", "")
