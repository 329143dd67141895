"""Every correction of the logbook is judged by the heat that would use it, however it came there.

The lever rule and class 2 of IEC 60584-1 say how good it is; the cases are those of an outside examination.
"""

import json
from collections.abc import Iterator

import pytest

from kilnctl.care.calibration import corrections_of
from kilnctl.care.corrections_in_force import judged
from kilnctl.care.due import everything_due
from kilnctl.cli.main import run
from kilnctl.cli.oven.care.take_away import take_away
from kilnctl.clock import RealClock
from kilnctl.config import home
from kilnctl.config.oven import find_oven
from kilnctl.errors import ProfileError
from kilnctl.logbook.entries import Calibration, add
from kilnctl.logbook.readers import Reader
from kilnctl.logbook.writer import Logbook
from kilnctl.profile.segments import Profile
from kilnctl.tomlfile import loads

BOILING = ((94.5, 100.0),)
SOUND = ((219.5, 218.0), (834.0, 830.0))


@pytest.fixture
def book() -> Iterator[Logbook]:
    with Logbook(None) as made:
        yield made


OVEN = find_oven("hardening-furnace")


def heat(*soaks: tuple[str, float]) -> Profile:
    """Return a heat of soaks: what each is for, and its temperature."""
    lines = (
        f'[[segment]]\nkind = "soak"\nat = "{at_c} C"\ntime = "10min"\npurpose = "{purpose}"\n'
        for purpose, at_c in soaks
    )
    return loads('name = "p"\n' + "".join(lines), Profile, ProfileError, "p")


def entered(book: Logbook, gain: float, offset_c: float, points, sensor="process") -> Reader:
    add(book, Calibration(OVEN.name, sensor, gain, offset_c, points, 0.5, None, "ref 3"), 0.0)
    return Reader(book.connection)


@pytest.mark.parametrize(
    ("gain", "offset_c", "points"),
    [
        (1.0, 5.5, BOILING),  # one point, as an older program took it
        (1.0, -9.0, ((100.0, 91.0),)),
        (1.00206, -0.926, ((0.9, 0.0), (98.1, 97.4))),  # ice and boiling water, taken with --used-to 260 C
        (1.0, 5.5, ()),  # of a copy of another logbook, without its points
        (1.0, 12.0, ((1000.0, 1012.0),)),
    ],
)
def test_a_heat_refuses_a_correction_that_is_worth_nothing_where_it_goes(book, gain, offset_c, points):
    found = judged(OVEN, heat(("harden", 1060.0)), entered(book, gain, offset_c, points))
    assert found.notes == ()
    (why,) = found.refusals
    assert "care take-away hardening-furnace process" in why


def test_a_sound_one_is_said_with_its_shift_and_how_good_it_is(book):
    found = judged(OVEN, heat(("harden", 1000.0)), entered(book, 0.99593, -0.607, SOUND))
    assert found.refusals == ()
    assert "corrected by -4.7 K at 1000 °C" in found.notes[0]  # by hand: 0.99593 x 1000 - 0.607 - 1000
    assert "± 1.9 K" in found.notes[0]  # 1.5 K x hypot(780.5, 166) / 614.5


def test_the_low_heat_of_a_correction_that_is_good_there_may_begin(book):
    reader = entered(book, 1.00206, -0.926, ((0.9, 0.0), (98.1, 97.4)))
    assert judged(OVEN, heat(("temper", 230.0)), reader).refusals == ()


@pytest.mark.parametrize(
    ("soaks", "refused"),
    [
        ((("harden", 1000.0),), False),
        ((("preheat", 650.0), ("harden", 1000.0)), False),  # on the way: no part is made by it
        ((("temper", 205.0),), True),
        ((("harden", 1000.0), ("temper", 205.0)), True),
    ],
)
def test_one_hot_point_says_nothing_of_a_temper(book, soaks, refused) -> None:
    reader = entered(book, 1.0, -9.0, ((1009.0, 1000.0),))
    found = judged(OVEN, heat(*soaks), reader).refusals
    assert any("at 205 °C (401 °F): calibrate at a colder point too" in why for why in found) is refused
    assert bool(found) is refused


@pytest.mark.usefixtures("own_home")
def test_a_plan_says_the_correction_in_force(capsys: pytest.CaptureFixture[str]) -> None:
    with Logbook(home.logbook_path()) as book:
        add(
            book,
            Calibration("hardening-furnace", "process", 1.0, -9.0, ((100.0, 91.0),), -9.0, None, "water"),
            0.0,
        )
    assert run(["plan", "gouge-o1-harden"]) == 0
    assert "! the process sensor is corrected by -9.0 K at 800 °C" in " ".join(
        capsys.readouterr().out.split()
    )
    assert run(["plan", "gouge-o1-harden", "--json"]) == 0
    assert any("take-away" in text for text in json.loads(capsys.readouterr().out)["warnings"])


@pytest.mark.usefixtures("own_home")
def test_what_is_taken_away_is_gone_from_heat_and_plan(capsys: pytest.CaptureFixture[str]) -> None:
    point = ("--at", "830 C is 826 C", "--used-to", "1000 C", "--reference", "K sensor 3")
    assert run(["care", "calibrate", "hardening-furnace", "process", *point]) == 0
    assert run(["plan", "gouge-o1-harden"]) == 0
    assert "- the process sensor is corrected by -4.0 K" in " ".join(capsys.readouterr().out.split())
    assert take_away("hardening-furnace", "process") == 0
    assert run(["plan", "gouge-o1-harden"]) == 0
    assert "is corrected" not in capsys.readouterr().out
    with Reader(home.logbook_path()) as reader:
        assert corrections_of(reader, "hardening-furnace") == {}
        in_two_years_utc = RealClock().utc().timestamp() + 2 * 365 * 86_400.0
        assert everything_due(reader, in_two_years_utc, "hardening-furnace") == []
