"""The value in which a heat stands after a tick: put together from pieces as `_replace` would."""

from typing import Any, cast

from kilnctl.heat.heat_state import HeatState, acknowledged
from kilnctl.interlocks.alarms import AlarmList
from kilnctl.readings import Alarm

# Every field another number: whatever lands in the wrong place is seen.
NOW = HeatState._make(cast(Any, range(len(HeatState._fields))))


def test_a_time_and_a_reading_change_nothing_else() -> None:
    one: Any = NOW.with_scan(-1.0, -2.0, cast(Any, "scan"))
    assert one == NOW._replace(elapsed_s=-1.0, utc_s=-2.0, scan=cast(Any, "scan"))


def test_alarms_change_nothing_else() -> None:
    assert NOW.alarmed(AlarmList()) == NOW._replace(alarms=AlarmList())


def test_a_place_in_the_profile_changes_nothing_else() -> None:
    part, dose, cursor, totals = cast(Any, ("part", "dose", "cursor", "totals"))
    found = NOW.moved(part, dose, cursor, totals)
    assert found == NOW._replace(part=part, dose=dose, cursor=cursor, totals=totals)


def test_an_answer_to_the_oven_changes_nothing_else() -> None:
    totals, switch, request = cast(Any, ("totals", "switch", "request"))
    found = NOW.driven(totals, switch, request, 0.5, True, -1, 0.1)
    wanted = NOW._replace(totals=totals, switch=switch, request=request, duty=0.5, fed=True, dither=-1)
    assert found == wanted._replace(unexplained=0.1)


def test_an_acknowledgement_is_a_new_heat_and_leaves_the_old_one_as_it_was() -> None:
    before = NOW._replace(
        alarms=AlarmList().see((Alarm("door", "open", 0.0),), 0.0), heard=False, elapsed_s=5.0
    )
    after = acknowledged(before)
    assert (before.heard, before.alarms.heard) == (False, False)
    assert (after.heard, after.alarms.heard) == (True, True)
