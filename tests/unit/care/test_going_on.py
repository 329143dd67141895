"""A run without an end that goes on is called running, never broken off: by every reader of the logbook.

What a reader is to say is asked by the words of the page, not by the function that it calls.
"""

from datetime import UTC, datetime
from pathlib import Path

import pytest
from heats import START_UTC, header, samples
from printed_pages import SHOP

from kilnctl.care.going_on import FRESH_S, going_on
from kilnctl.cli.main import run as kilnctl
from kilnctl.config.home import bundled
from kilnctl.logbook.readers import Reader
from kilnctl.logbook.writer import Logbook
from kilnctl.marks import running_ovens
from kilnctl.report.heats_page import heats_page
from kilnctl.report.part_history import lines, story_of
from kilnctl.report.record import load_record
from kilnctl.report.record_page import record_page

pytestmark = pytest.mark.usefixtures("marked")
Out = pytest.CaptureFixture[str]
BROKEN = ("INCOMPLETE", "no end", "breaks off", "broke off", "without an end")
NOW_UTC = START_UTC + 120.0


@pytest.fixture
def marked(own_home: Path) -> None:
    """The oven of these runs is marked as running, by this process."""
    name = header().oven
    running_ovens.mark(name, (bundled("ovens") / f"{name}.toml").read_text(encoding="utf-8"))


def _open_run(book: Logbook, started_utc: float = START_UTC) -> int:
    run = book.start_run(header(simulated=False, started_utc=started_utc))
    book.append(run, [s._replace(utc_s=started_utc + s.elapsed_s) for s in samples(120)], [])
    return run


def test_it_goes_on_while_its_newest_sample_is_fresh_and_when_it_has_only_begun() -> None:
    with Logbook(None) as book:
        reader, run = Reader(book.connection), _open_run(book)
        assert going_on(reader, reader.run(run), NOW_UTC)
        assert not going_on(reader, reader.run(run), NOW_UTC + FRESH_S + 1.0)
        assert not going_on(reader, reader.run(run), NOW_UTC - 3600.0)  # a clock set back proves nothing
        begun = reader.run(book.start_run(header(started_utc=NOW_UTC - 2.0)))
        assert going_on(reader, begun, NOW_UTC)
        assert not going_on(reader, begun, NOW_UTC + 60.0)
        running_ovens.clear(begun.oven)
        assert not going_on(reader, begun, NOW_UTC)  # its controller was killed, and the heat read off
        book.finish(run, "complete", {}, NOW_UTC)
        assert not going_on(reader, reader.run(run), NOW_UTC)


@pytest.mark.parametrize("broken", [False, True])
def test_every_page_says_which_of_the_two(broken: bool) -> None:
    with Logbook(None) as book:
        reader, run = Reader(book.connection), _open_run(book)
        now_utc = NOW_UTC + (3600.0 if broken else 1.0)
        record = load_record(reader, run, now_utc)
        pages = {
            "part": "\n".join(lines(story_of(reader, "gouge 7", now_utc=now_utc))),
            "record": repr(record_page(reader, record, SHOP)),
            "heats": repr(heats_page(reader, reader.runs(), "Heats", SHOP, now_utc)),
        }
    for name, text in pages.items():
        assert any(word in text for word in BROKEN) == broken, (name, text)
        assert ("running" in text.lower().replace("time running", "")) != broken, (name, text)


def test_every_command_says_it(tmp_path: Path, capsys: Out, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("KILNCTL_HOME", str(tmp_path))
    now_utc = datetime.now(UTC).timestamp()
    with Logbook(tmp_path / "logbook.sqlite") as book:
        _open_run(book, now_utc - 120.0)
    asked = (
        ["part", "gouge 7"],
        ["part", "gouge 7", "--json"],
        ["runs", "--json"],
        ["verify", "1"],
        ["verify"],
    )
    for words in asked:
        code = kilnctl(words)
        said = capsys.readouterr().out
        assert "running" in said.lower(), words
        assert not any(word in said for word in BROKEN), (words, said)
        assert code == (6 if words == ["verify", "1"] else 0), words  # not whole yet, as a broken one
    assert kilnctl(["export", "1", "--out", str(tmp_path / "run.csv")]) == 0
    capsys.readouterr()
    assert kilnctl(["verify", str(tmp_path / "run.csv")]) == 6
    said = capsys.readouterr().out
    assert "STILL RUNNING" in said
    assert "INCOMPLETE" not in said
