"""Uniformity of a chamber: a worked example of the job, and the class bands as published."""

from dataclasses import replace

import pytest
from heats import START_UTC, one_run

from kilnctl.care.survey import CLASS_BANDS_K, deviations, orientation, survey_of, surveys_of, values_of
from kilnctl.config import home
from kilnctl.config.oven import Oven, load_oven
from kilnctl.errors import ConfigError
from kilnctl.logbook.entries import CareDone, Survey, Typed, add
from kilnctl.logbook.readers import Reader
from kilnctl.logbook.writer import Logbook
from kilnctl.model.surveyed import Surveyed, hotter
from kilnctl.report.measured_with import sensors, uncertainty
from kilnctl.report.record import load_record
from kilnctl.units import DAY_S

FILE = home.bundled("ovens") / "tempering-oven.toml"
OVEN = load_oven(FILE)
SURVEY = (
    ("front left", 826.1),
    ("front right", 829.4),
    ("back left", 833.8),
    ("back right", 831.0),
    ("middle", 827.2),
)


def test_a_survey_gives_its_band() -> None:
    low_k, high_k = deviations(830.0, SURVEY)  # J30
    assert (round(low_k, 1), round(high_k, 1)) == (-3.9, 3.8)
    words = orientation(low_k, high_k)
    assert "inside ±6 K" in words
    assert "outside ±3 K" in words
    assert "orientation only" in words


def test_four_positions_are_no_survey() -> None:
    with pytest.raises(ConfigError, match="5 different"):
        deviations(830.0, (*SURVEY[:4], SURVEY[0]))


@pytest.mark.parametrize(
    ("at_c", "each_c", "most_c", "said"),
    [
        (218.0, 420.0, None, "°C written for °F"),  # 420 °F are 216 °C
        (218.0, 103.3, None, "°C written for °F"),  # 218 typed as °F
        (420.0, 216.0, None, "°C written for °F"),  # the hold itself
        (105.0, 221.0, None, "°C written for °F"),
        (829.0, 929.0, None, "a slip of the pen"),
        (218.0, 279.0, None, "move it"),
        (218.0, 226.0, 440.0, "°C written for °F"),
        (218.0, 226.0, 116.0, "°C written for °F"),
        (218.0, 226.0, 214.0, "below the hold"),
        (218.0, 214.0, 210.0, "below the hold"),
    ],
)
def test_what_nobody_can_have_measured_is_refused(
    at_c: float, each_c: float, most_c: float | None, said: str
) -> None:
    with pytest.raises(ConfigError, match=said) as refused:
        kept(at_c, each_c, most_c)
    assert "\n" not in str(refused.value)


def test_a_door_corner_and_a_way_no_hotter_than_its_hold_are_taken() -> None:
    assert kept(218.0, 272.0, 286.0).high_k == 54.0  # door corner 90
    assert kept(218.0, 178.0, 178.0).high_k == -40.0


def kept(at_c: float, each_c: float, most_c: float | None = None) -> Survey:
    """Return a survey with a place that differs from four at the hold, or all five that do."""
    all_differ = each_c < at_c and most_c is not None
    places = [(name, each_c if all_differ or name == "e" else at_c) for name in "abcde"]
    return survey_of(OVEN, at_c, places, most_c, loaded=False, who="", note="")


def test_the_class_bands_are_those_published() -> None:
    # SAE AMS 2750F classes 1 to 6 as printed by a furnace builder (secondary copy).
    assert list(CLASS_BANDS_K.values()) == [3, 6, 8, 10, 14, 28]


def test_the_newest_survey_near_a_temperature_counts_with_the_way_there_where_it_is_told() -> None:
    with Logbook(None) as book:
        for utc_s, kept in enumerate((entry(218.0, 30.0), entry(829.0, 4.0), entry(220.0, 12.0, 245.0))):
            add(book, kept, float(utc_s))
        add(book, entry(400.0, 9.0, 402.0), 9.0)
        found = [one[:3] for one in surveys_of(Reader(book.connection), OVEN)]
        another = OVEN.model_copy(update={"name": "another"})
        assert surveys_of(Reader(book.connection), another) == ()
    # The way is no cooler than the hold, whatever was written down.
    assert found == [(829.0, 4.0, None), (220.0, 12.0, 25.0), (400.0, 9.0, 9.0)]
    assert not any(one.ended for one in surveys_of_all(entry(218.0, 30.0)))


def entry(at_c: float, high_k: float, most_c: float | None = None, oven: Oven = OVEN) -> Survey:
    """Return a survey whose hottest place is so much hotter."""
    places = (("front", at_c), ("back", at_c + high_k))
    return Survey(oven.name, at_c, places, 0.0, high_k, most_c=most_c, rests_on=values_of(oven))


def surveys_of_all(*kept: Typed, oven: Oven = OVEN) -> tuple[Surveyed, ...]:
    """Return what counts after entries were kept, one a day from a day of 2026 on."""
    with Logbook(None) as book:
        for days, one in enumerate(kept):
            add(book, one, 1.78e9 + days * DAY_S)
        return surveys_of(Reader(book.connection), oven)


@pytest.mark.parametrize(
    ("what", "note", "counts"),
    [
        ("element hours", "", False),  # the counter of the program itself, started anew
        ("sensor hours above 800 °C", "", False),
        ("new elements", "", False),
        ("yearly service", "replaced the thermocouple", False),
        ("door seal", "", False),
        ("check the elements", "", True),
        ("inspect the coils", "one replaced", False),
        ("oil tank", "changed the oil", True),
        ("relay closures", "", True),
        ("calibrate the sensor", "", True),
    ],
)
def test_a_survey_ends_with_a_change_of_what_it_was_made_with(what: str, note: str, counts: bool) -> None:
    (found,) = surveys_of_all(entry(218.0, 12.0), CareDone(OVEN.name, what, note))
    assert (found.ended == "") is counts
    assert counts or (what in found.ended and "2026-" in found.ended)
    assert hotter((found,), 218.0, 20.0) is None or counts
    # One of another oven, or before the survey, changes nothing.
    assert surveys_of_all(entry(218.0, 12.0), CareDone("another", what, note))[0].ended == ""
    assert surveys_of_all(CareDone(OVEN.name, what, note), entry(218.0, 12.0))[0].ended == ""


def test_a_survey_ends_with_a_key_of_the_oven_file_that_it_rests_on() -> None:
    for key, value in (("power_w", 3000.0), ("build", "fibre"), ("elements", "muffle")):
        (found,) = surveys_of_all(entry(218.0, 12.0), oven=OVEN.model_copy(update={key: value}))
        assert "has changed in the oven file" in found.ended
    process = OVEN.signal.process
    wired = [process.model_copy(update=to) for to in ({"couple": "N"}, {"offset": 3.0}, {"register_no": 9})]
    for place in wired:
        signal = OVEN.signal.model_copy(update={"process": place})
        assert surveys_of_all(entry(218.0, 12.0), oven=OVEN.model_copy(update={"signal": signal}))[0].ended
    told_later = entry(218.0, 12.0, oven=OVEN.model_copy(update={"elements": None, "supply_v": None}))
    assert surveys_of_all(told_later)[0].ended == ""
    assert surveys_of_all(entry(218.0, 12.0), oven=OVEN.model_copy(update={"limit_c": 250.0}))[0].ended == ""


def test_a_survey_that_an_older_program_took_and_nobody_believes_does_not_count() -> None:
    absurd = replace(entry(218.0, 202.0), rests_on=None)
    assert "°C for °F" in surveys_of_all(absurd)[0].ended
    good, bad = surveys_of_all(entry(218.0, 12.0), absurd)
    assert (good.ended, bool(bad.ended)) == ("", True)


def test_the_record_of_a_heat_counts_no_survey_that_had_ended_when_it_began() -> None:
    ended_words = []
    for done_utc in (START_UTC - DAY_S, START_UTC + DAY_S):
        with Logbook(None) as book:
            add(book, entry(218.0, 12.0), START_UTC - 2 * DAY_S)
            add(book, CareDone(OVEN.name, "new element"), done_utc)
            reader, run = (
                Reader(book.connection),
                one_run(book, 60, oven_file=FILE.read_text(encoding="utf-8")),
            )
            record = load_record(reader, run)
            assert record.oven is not None
            missing = uncertainty(reader, record)
            assert missing is not None
            ended_words.append((dict(sensors(reader, record))["uniformity"], missing.components))
    (before, parts), (after, whole) = ended_words
    assert "no longer counted" in before
    assert "new element" in before
    assert "uniformity" not in [part.name for part in parts]
    assert "inside ±14 K" in after
    assert "uniformity" in [part.name for part in whole]
