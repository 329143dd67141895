"""What a record says of hands, air and hot minutes.

Outside: the card's ceiling of 1084 (815 degC), an air cool of 0.3 to a few K/s (computed); what
late and hot do to a part is common practice.
"""

from pathlib import Path

import pytest
from heats import START_UTC, a_book, header

from kilnctl.config.home import logbook_path
from kilnctl.logbook import entries
from kilnctl.logbook.readers import Reader
from kilnctl.logbook.sample import Sample
from kilnctl.logbook.writer import Event
from kilnctl.report.achieved import achieved
from kilnctl.report.record import Record, load_record
from kilnctl.report.record_page import _result, hardness_words
from kilnctl.report.treatment_words import verdict
from kilnctl.report.what_happened import Happening, amiss, as_quenched, what_happened

HEAT = """name = "knife"
steel = "1084"
section = "3 mm"

[[segment]]
kind = "soak"
at = "{at} C"
time = "10 min"
clock = "part"
purpose = "{purpose}"

[[segment]]
kind = "operator"
step = "{step}"
say = "out"
hold = "{at} C"
at_most = "10 min"
purpose = "{purpose}"
{more}
"""
HARDEN = HEAT.format(at=810, purpose="harden", step="quench", more='medium = "fast oil"\ntransfer = "3.1 s"')
NORMALISE = HEAT.format(at=870, purpose="normalise", step="air cool", more="")


def look(at_s: float, segment: int, at_c: float, soak_s: float) -> Sample:
    return Sample(at_s, START_UTC + at_s, 1, segment, 810.0, at_c, 0.4, True, part_c=at_c, soak_part_s=soak_s)


def told(
    folder: Path,
    profile: str = HARDEN,
    over: tuple[float, int] = (0.0, 0),
    way: dict[str, object] | None = None,
    outcome: str = "complete",
    treatment: dict[str, object] | None = None,
    cooled: entries.AirCool | None = None,
) -> tuple[Record, tuple[Happening, ...]]:
    """Return the record of a soak of ten minutes, so many kelvin too hot at first, and what happened."""
    goal_c = 870.0 if profile == NORMALISE else 810.0
    kept = [look(i, 0, goal_c + (over[0] if i < over[1] else 0.0), float(i)) for i in range(601)]
    said = [Event(605.0, START_UTC + 605, "answer", "done", way)] if way else []
    with a_book(folder) as book:
        run = book.start_run(header(profile=profile, steel="1084", part="knife 1", period_s=1.0))
        book.append(run, [*kept, look(601, 1, goal_c, 0.0)], said)
        book.finish(run, outcome, {"cause": "", "treatment": treatment or {}}, START_UTC + 700)
        if cooled is not None:
            entries.add(book, cooled, START_UTC + 900)
        reader = Reader(book.connection)
        record = load_record(reader, run)
        return record, what_happened(reader, record)


def lead(record: Record, found: tuple[Happening, ...]) -> str:
    return verdict(record, achieved(record), amiss(found))[0]


@pytest.mark.parametrize(("took_s", "late"), [(2.4, False), (9.0, True)])
def test_a_way_to_the_bath_is_judged_by_the_plans_budget(own_home: Path, took_s: float, late: bool) -> None:
    record, found = told(own_home, way={"mark": "in the oil", "after_s": took_s})
    assert [f.word for f in found] == ["way to the bath"]
    assert "3.1 s allowed" in found[0].text
    assert ("LATE. The edge may be soft" in found[0].text) is late
    assert ("not as asked, see the result: way to the bath" in lead(record, found)) is late


@pytest.mark.parametrize(("over", "says"), [((25.0, 300), "card allows"), ((25.0, 30), ""), ((8.0, 300), "")])
def test_minutes_above_the_goal_say_what_they_did(own_home: Path, over: tuple[float, int], says: str) -> None:
    _, found = told(own_home, over=over)
    assert bool(found) is bool(says)
    assert all(says in f.text and "835 °C" in f.text and "5 min" in f.text for f in found)


def test_an_anneal_too_quick_is_not_done_as_planned(own_home: Path) -> None:
    quick = "too quick for the anneal: 180 °C/h"
    record, found = told(own_home, treatment={"cooled": "furnace cooled: an anneal", "warning": quick})
    assert amiss(found) == ("cooling",)
    assert "Done as planned" not in lead(record, found)


@pytest.mark.parametrize(
    ("from_c", "took_s", "name"),
    [(700.0, 95.0, "normalised (2"), (700.0, 3600.0, "not normalised"), (800.0, 60.0, "normalised (5")],
)
def test_a_cooling_outside_goes_by_the_name_that_a_thermometer_gives_it(
    own_home: Path, from_c: float, took_s: float, name: str
) -> None:
    measured = entries.AirCool("knife 1", from_c, 500.0, took_s, run=1)
    _, found = told(own_home, NORMALISE, cooled=measured)
    assert name in found[-1].text
    assert f"{from_c:.0f} to 500 °C in {took_s:.0f} s, by thermometer" in found[-1].text
    assert found[-1].good is (name != "not normalised")


def test_nothing_is_said_of_a_heat_that_has_nothing_to_tell(own_home: Path) -> None:
    record, found = told(own_home)
    assert found == ()
    assert lead(record, found).startswith("Done as planned")


@pytest.mark.parametrize(("period_s", "short"), [(4.0, False), (1.0, True)])
def test_a_soak_is_not_short_by_its_last_tick(own_home: Path, period_s: float, short: bool) -> None:
    """With a tick of 4 s the samples of a full soak of ten minutes end at 596 s."""
    with a_book(own_home) as book:
        run = book.start_run(header(profile=HARDEN, steel="1084", period_s=period_s))
        book.append(run, [look(4.0 * i, 0, 810.0, 4.0 * i) for i in range(150)], [])
        book.finish(run, "complete", {"cause": ""}, START_UTC + 700)
        record = load_record(Reader(book.connection), run)
    assert ("not as planned" in lead(record, ())) is short


@pytest.mark.parametrize(("gap_s", "short"), [(30.0, False), (4.0, True)])
def test_the_end_of_a_soak_may_lie_in_a_gap_and_what_is_short_is_said_in_seconds(
    own_home: Path, gap_s: float, short: bool
) -> None:
    """Ten minutes are asked and 580 s seen: a heat goes on only from a full soak, so a gap has the rest."""
    with a_book(own_home) as book:
        run = book.start_run(header(profile=HARDEN, steel="1084", period_s=1.0))
        seen = [look(4.0 * i, 0, 810.0, 4.0 * i) for i in range(146)]
        book.append(run, [*seen, look(580.0 + gap_s, 1, 805.0, 0.0)], [])
        book.finish(run, "complete", {"cause": ""}, START_UTC + 700)
        said = lead(load_record(Reader(book.connection), run), ())
    assert ("20 s short of 10 min" in said) is short


@pytest.mark.parametrize("outcome", ["stopped", "tripped", "ended_early"])
def test_a_heat_that_did_not_finish_is_not_called_done(own_home: Path, outcome: str) -> None:
    record, found = told(own_home, outcome=outcome)
    assert lead(record, found).startswith("Not finished")


@pytest.mark.parametrize(
    ("profile", "outcome", "said"),
    [(HARDEN, "complete", "65 HRC by the card"), (HARDEN, "tripped", ""), (NORMALISE, "complete", "")],
)
def test_a_quenched_part_has_its_cards_hardness(
    own_home: Path, profile: str, outcome: str, said: str
) -> None:
    """1084 as quenched: 65 HRC (bladesmith data pages for 1080); never of a heat that did not finish."""
    record, _ = told(own_home, profile=profile, outcome=outcome)
    assert as_quenched(record).startswith(said) if said else as_quenched(record) == ""
    with Reader(logbook_path()) as reader:
        assert ("NOT TEMPERED" in hardness_words(reader, record)) is bool(said), "what its label says"


def test_each_of_six_gouges_has_its_own_hardness_and_a_label_still_says_untempered(own_home: Path) -> None:
    """Results of two gouges once stood there without a name, and the label forgot that they are brittle."""
    six = HARDEN.replace("[[segment]]", 'parts = ["gouge-1", "gouge-2"]\n\n[[segment]]', 1)
    record, _ = told(own_home, profile=six)
    with a_book(own_home) as book:
        for part, hrc in (("gouge-1", 65.0), ("gouge-2", 61.0)):
            test = entries.Hardness(part, "tester", hrc, hrc, f"{hrc:.0f} HRC", run=record.info.run)
            entries.add(book, test, START_UTC + 800, run=record.info.run)
    with Reader(logbook_path()) as reader:
        label = hardness_words(reader, record)
        rows = [text for word, text in _result(reader, record, ()) if word == "hardness measured"]
    assert [text[:8] for text in rows] == ["gouge-1:", "gouge-2:"]
    assert "NOT TEMPERED" in label
    assert "gouge-2: 61 HRC" in label
