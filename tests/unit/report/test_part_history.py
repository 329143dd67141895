"""A part's story: everything about it in order, and the time it was hot."""

from heats import START_UTC, header, one_run, samples

from kilnctl.care.hardness_tests import by_files
from kilnctl.logbook import entries
from kilnctl.logbook.readers import Reader
from kilnctl.logbook.writer import Logbook
from kilnctl.report.part_history import lines, story_of


def _hot_run(book: Logbook, minutes: int, **over: object) -> int:
    run = book.start_run(header(part="gouge 7", simulated=False, **over))
    made = [s._replace(process_c=830.0, part_c=None) for s in samples(minutes * 60 + 1)]
    book.append(run, made, [])
    book.finish(run, "complete", {"cause": ""}, START_UTC)
    return run


def test_a_story_has_everything_in_order() -> None:
    with Logbook(None) as book:
        entries.add(book, entries.PartEntry("gouge 7", "O1", "bar 12"), START_UTC - 100)
        one_run(book, 10, part="gouge 7")
        entries.add(book, by_files("gouge 7", [(55.0, "skates"), (60.0, "cuts")], True), START_UTC + 100)
        entries.add(book, entries.Note("gouge 7", "sent to the carver"), START_UTC + 200)
        entries.add(book, entries.Note("gouge 8", "another part"), START_UTC + 200)
        text = "\n".join(lines(story_of(Reader(book.connection), "gouge 7")))
    order = [text.index(word) for word in ("bar 12", "run 1", "55–60 HRC", "sent to the carver")]
    assert order == sorted(order)
    assert "SIMULATED" in text
    assert "another part" not in text


def test_time_above_800_adds_up_over_real_runs() -> None:
    with Logbook(None) as book:  # J34: 22 + 17 minutes, recipe limit 30
        _hot_run(book, 22)
        _hot_run(book, 17)
        story = story_of(Reader(book.connection), "gouge 7", bare_limit_s=1800.0)
        assert round(story.over_800_s / 60) == 39
        assert any("grinding allowance" in hint for hint in story.hints)
        assert story_of(Reader(book.connection), "gouge 7", bare_limit_s=2400.0).hints == (
            "39 min above 800 °C in all, within the limit of 40 min",
        )
        run = book.start_run(header(part="gouge 7", simulated=True))
        book.append(run, [s._replace(process_c=900.0, part_c=None) for s in samples(600)], [])
        book.finish(run, "complete", {}, START_UTC)
        assert story_of(Reader(book.connection), "gouge 7").over_800_s == story.over_800_s


def test_an_unknown_part_has_no_story() -> None:
    with Logbook(None) as book:
        assert story_of(Reader(book.connection), "nobody").lines == ()
