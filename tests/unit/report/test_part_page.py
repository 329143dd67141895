"""A part's story as a page: everything of it, in order, with the time that it was hot."""

from heats import START_UTC, header, samples

from kilnctl.logbook import entries
from kilnctl.logbook.readers import Reader
from kilnctl.logbook.writer import Logbook
from kilnctl.report.layout.html_page import html
from kilnctl.report.part_history import story_of
from kilnctl.report.part_page import part_page
from kilnctl.report.workshop import Workshop


def test_the_page_of_a_part_says_all_of_its_story_and_its_time_at_heat() -> None:
    with Logbook(None) as book:
        run = book.start_run(header(part="gouge 7", simulated=False))
        book.append(run, [s._replace(process_c=830.0, part_c=None) for s in samples(22 * 60 + 1)], [])
        book.finish(run, "complete", {"cause": ""}, START_UTC)
        entries.add(book, entries.Note("gouge 7", "sent to the <carver>"), START_UTC + 200)
        page = html(part_page(story_of(Reader(book.connection), "gouge 7"), Workshop("A. Smith")))
    order = [
        page.index(words) for words in ("A. Smith", "<h1>gouge 7", "run 1", "sent to the &lt;carver&gt;")
    ]
    assert order == sorted(order)
    assert "<dt>above 800 °C</dt><dd>22 min</dd>" in page.replace("\N{NO-BREAK SPACE}", " ")
