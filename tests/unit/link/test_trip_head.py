"""What a trip says of the heat: every combination of what can be known, against the rule itself.

The rule: nobody reads "off" unless off was read back just now and nothing shows heat; in every other case the
power is to be cut by hand, and the place is named.
"""

from dataclasses import replace
from itertools import product

import pytest

from kilnctl.link.snapshot import Snapshot
from kilnctl.link.trip_head import trip_head

TRIPPED = Snapshot(
    oven="left", simulated=True, sequence=1, utc="2026-01-01T00:00:00Z", state="tripped", word="tripped",
    elapsed_s=60.0, process_c=217.6, setpoint_c=None, part_c=None, goal_c=None, limit_c=260.0, duty=0.0,
    heat_on=False, run=7, isolator="red switch", phone="112", trip="Door: open for 123 s",
    trip_kind="door_open",
)  # fmt: skip
MAYBE = (True, False, None)


@pytest.mark.parametrize(("read_back", "heat_on", "live"), [*product(MAYBE, MAYBE, MAYBE)])
def test_off_is_said_only_where_it_was_read_back_just_now(
    read_back: bool | None, heat_on: bool | None, live: bool | None
) -> None:
    for still_on, old in product((True, False), (True, False)):
        s = replace(TRIPPED, off_read_back=read_back, heat_on=heat_on, heater_live=live, still_on=still_on)
        head = trip_head(s, old)
        proven = read_back is True and not still_on and not old
        assert ("HEAT IS OFF" in head.action) == proven
        assert ("CUT THE POWER NOW: red switch" in head.action) == (not proven)
        seen_on = still_on or (read_back is not True and (heat_on is True or live is True))
        assert ("STILL ON" in head.action) == seen_on
        assert ("NOT CONFIRMED" in head.action) == (not proven and not seen_on)


@pytest.mark.parametrize("heat_on", MAYBE)
def test_what_is_only_watched_and_not_seen_on_is_not_to_be_cut(heat_on: bool | None) -> None:
    s = replace(TRIPPED, off_read_back=False, heat_on=heat_on, only_watched=True)
    assert ("CUT THE POWER" in trip_head(s).action) is (heat_on is True)
    assert ("NOTHING WAS HEATED HERE" in trip_head(s).action) is (heat_on is not True)


def test_the_action_comes_first_then_the_cause_then_the_caution() -> None:
    s = replace(TRIPPED, trip_later=("Rising while off: 250 °C", "Over-temperature: 261 °C"), still_on=True)
    assert trip_head(s).whole == (
        "THE HEAT IS STILL ON. CUT THE POWER NOW: red switch. Door: open for 123 s; then Rising while off: "
        "250 °C; then Over-temperature: 261 °C. Fire or smoke: leave, close the door, call 112."
    )


def test_heat_that_is_off_is_still_watched_by_the_temperature_where_there_is_one() -> None:
    off = replace(TRIPPED, off_read_back=True)
    assert "If it still gets hotter, cut the power: red switch." in trip_head(off).caution
    blind = replace(off, process_c=None, quality="sensor open")
    assert "There is no reading to show it cooling; if in doubt, cut the power" in trip_head(blind).caution


def test_without_a_place_or_a_number_nothing_is_left_blank() -> None:
    bare = trip_head(replace(TRIPPED, isolator="", phone="", off_read_back=None))
    assert "CUT THE POWER NOW: at the isolator." in bare.action
    assert "call your local emergency number" in bare.caution
