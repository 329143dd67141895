from datetime import timedelta

import pytest
from latches import NOW, STUCK, armed

from kilnctl.config import home
from kilnctl.config.oven import load_oven
from kilnctl.config.port_path import meant
from kilnctl.errors import RunRefused
from kilnctl.marks import latch, reset_conditions
from kilnctl.marks.latch import Latched
from kilnctl.marks.off_stamp import Outlet
from kilnctl.marks.oven_identity import OvenIdentity, identity_of
from kilnctl.marks.reset_conditions import AFTER_REPAIR, why_another
from kilnctl.readings import ResetClass, Trip

pytestmark = pytest.mark.usefixtures("own_home")

AT = OvenIdentity((Outlet("/dev/x", "1-coil-0"),))


def test_d10_a_twin_is_another_oven():
    oven = load_oven(home.bundled("ovens") / "tempering-oven.toml")
    mine = Latched("tripped", oven.name, "", identity=identity_of(oven))
    assert why_another(mine, oven) == ""
    live = oven.model_copy(update={"simulated": False})
    assert "live" in why_another(Latched("tripped", oven.name, "", identity=identity_of(live)), oven)
    moved = Latched("tripped", oven.name, "", identity=AT)
    assert "/dev/x" in why_another(moved, oven)


@pytest.mark.parametrize(
    ("port", "place", "free", "repaired_free"),
    [
        ("/dev/ttyUSB77", "1-coil-0", True, True),  # an adapter that came back under another name
        ("/dev/ttyUSB77", "9-coil-5", False, True),  # another board behind a new adapter
        ("/dev/null", "1-coil-0", False, False),  # that machine is there still
        ("lines/tempering-oven", "9-coil-5", False, True),  # another board on the same line
    ],
)
def test_a_board_or_port_that_was_replaced_bars_no_oven_for_good(port, place, free, repaired_free):
    """The old one cannot be read any more, and nothing else would have cleared the latch."""
    oven = load_oven(home.bundled("ovens") / "tempering-oven.toml")
    own = identity_of(oven).at
    as_it_was = tuple(Outlet(meant(port), o.place if place == "1-coil-0" else place) for o in own)
    said = Latched("tripped", oven.name, "", identity=OvenIdentity(as_it_was, simulated=True))
    assert (why_another(said, oven) == "") is free
    assert (why_another(said, oven, repaired=True) == "") is repaired_free
    live = Latched("tripped", oven.name, "", identity=OvenIdentity(as_it_was, simulated=False))
    assert why_another(live, oven, repaired=True)


def test_a_latch_that_does_not_know_its_device_is_that_of_the_name():
    """Older, or torn: else nothing could ever take it away."""
    oven = load_oven(home.bundled("ovens") / "tempering-oven.toml")
    assert why_another(Latched("tripped", oven.name, ""), oven) == ""


def test_a_reset_asks_for_a_note():
    armed().trip(STUCK)
    with pytest.raises(RunRefused, match="few words"):
        reset_conditions.reset("small oven", " ok ", NOW)
    assert reset_conditions.reset("small oven", "relay replaced", NOW).kind == STUCK.kind
    assert latch.read("small oven") is None
    with pytest.raises(RunRefused, match="not latched"):
        reset_conditions.reset("small oven", "relay replaced", NOW)


def trip_and_reset(kind, at):
    armed(at).trip(Trip(kind, "for the test", 0.0))
    said = latch.read("small oven")
    reset = reset_conditions.needed(said, at)
    reset_conditions.reset("small oven", "found and mended", at)
    return reset


@pytest.mark.parametrize(("kind", "raised"), [("heat_without_demand", "C"), ("link_lost", "B")])
def test_the_third_trip_of_a_kind_in_a_day_asks_for_more(kind, raised):
    hours = (0, 1, 2)
    resets = [trip_and_reset(kind, NOW + timedelta(hours=h)) for h in hours]
    assert resets == ["A", "A", raised]
    assert trip_and_reset(kind, NOW + timedelta(hours=30)) == "A"


def test_a_trip_a_whole_day_ago_still_counts():
    trip_and_reset("link_lost", NOW)
    trip_and_reset("link_lost", NOW + timedelta(hours=23))
    assert trip_and_reset("link_lost", NOW + timedelta(hours=24)) == "B"


def test_trips_of_other_kinds_do_not_count():
    kinds = ("link_lost", "sensor_lost", "stalled", "link_lost")
    assert [trip_and_reset(kind, NOW) for kind in kinds] == ["A"] * 4


def test_an_unreadable_list_of_trips_counts_as_full():
    armed().trip(STUCK)
    (home.latch_dir() / "small oven.trips").write_text("{broken")
    assert reset_conditions.needed(latch.read("small oven"), NOW) is ResetClass.C


def test_what_stands_in_the_way_is_named():
    armed().trip(Trip("over_temperature", "866", 0.0, reset=ResetClass.B, repeat_step="limit test"))
    said = latch.read("small oven")
    missing = reset_conditions.why_not_reset(said, NOW, 12.0, [], False)
    assert len(missing) == 2
    assert "30 s" in missing[0]
    assert "limit test" in missing[1]
    assert reset_conditions.why_not_reset(said, NOW, 30.0, ["limit test"], False) == []


def test_a_repair_is_not_software_s_to_believe_alone():
    armed().trip(Trip("smoke", "the detector speaks", 0.0, reset=ResetClass.C))
    said = latch.read("small oven")
    assert len(reset_conditions.why_not_reset(said, NOW, 60.0, [], True)) == 1
    everything = list(AFTER_REPAIR)
    assert len(reset_conditions.why_not_reset(said, NOW, 60.0, everything, False)) == 1
    assert reset_conditions.why_not_reset(said, NOW, 60.0, everything, True) == []


def test_a_note_of_five_characters_is_the_shortest():
    with pytest.raises(RunRefused, match="few words"):
        reset_conditions.check_note(" abcd ")
    reset_conditions.check_note("abcde")
