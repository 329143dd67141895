"""A start at the door: what the logbook says of the oven's sensors is among what is judged."""

import pytest

from kilnctl.clock import RealClock
from kilnctl.config import home
from kilnctl.errors import ProfileError
from kilnctl.link.start import StartJob
from kilnctl.logbook.entries import Calibration, add
from kilnctl.logbook.writer import Logbook
from kilnctl.permits.admission import admit
from kilnctl.permits.challenge import Challenges
from kilnctl.profile.segments import Profile
from kilnctl.tomlfile import loads


@pytest.mark.usefixtures("own_home")
@pytest.mark.parametrize(("record_only", "refused"), [(False, True), (True, False)])
def test_a_heat_refuses_a_correction_of_boiling_water_at_1000_degrees(record_only, refused) -> None:
    """An older program took one point at 100 °C; a recording heats nothing and may use it."""
    with Logbook(home.logbook_path()) as book:
        add(
            book, Calibration("hardening-furnace", "process", 1.0, -9.0, ((100.0, 91.0),), -9.0, None, "w"), 0
        )
    text = (home.bundled("ovens") / "hardening-furnace.toml").read_text(encoding="utf-8")
    heat = 'name = "p"\n[[segment]]\nkind = "soak"\nat = "1000 C"\ntime = "10min"\npurpose = "harden"\n'
    start = StartJob(
        oven=text,
        profile=loads(heat, Profile, ProfileError, "p"),
        off_stamp={},
        presence="own screen",
        record_only=record_only,
    )
    asked = admit(start, Challenges(RealClock()), RealClock())
    assert any("good only to 8.2 K" in why for why in asked.permission.refusals) is refused


@pytest.mark.usefixtures("own_home")
@pytest.mark.parametrize(
    ("says", "record_only", "refused"),
    [
        ("refuse", False, True),
        ("refuse", True, False),
        ("say", False, False),
    ],
)
def test_what_is_overdue_bars_a_heat_where_the_oven_file_asks_for_it(says, record_only, refused) -> None:
    clock = RealClock()
    with Logbook(home.logbook_path()) as book:
        two = ((100.0, 100.0), (1000.0, 1000.0))
        long_ago_s = clock.utc().timestamp() - 400 * 86400.0
        add(book, Calibration("hardening-furnace", "process", 1.0, 0.0, two, 0.0, None, "w"), long_ago_s)
    text = (home.bundled("ovens") / "hardening-furnace.toml").read_text(encoding="utf-8")
    heat = 'name = "p"\n[[segment]]\nkind = "soak"\nat = "800 C"\ntime = "10min"\npurpose = "harden"\n'
    start = StartJob(
        oven=text.replace('use = "hardening"', f'use = "hardening"\noverdue = "{says}"'),
        profile=loads(heat, Profile, ProfileError, "p"),
        off_stamp={},
        presence="own screen",
        record_only=record_only,
    )
    asked = admit(start, Challenges(clock), clock)
    assert any("overdue = " in why for why in asked.permission.refusals) is refused
