"""Stamps and results after a heat's end reach the record as entries of its run."""

from pathlib import Path

import pytest
from heats import START_UTC, a_book, one_run

from kilnctl.care import late_entries
from kilnctl.errors import ConfigError, RecordError
from kilnctl.logbook.entries import Hardness, Note, read
from kilnctl.logbook.readers import Reader

END_UTC = START_UTC + 5000.0


@pytest.fixture
def book(tmp_path: Path) -> Path:
    with a_book(tmp_path) as made:
        one_run(made)
        one_run(made, part="")
    return tmp_path / "logbook.sqlite"


def test_a_late_transfer_is_kept_with_its_run(book: Path) -> None:
    stamp = {"mark": "in the oil", "after_s": 9.04, "late": True}
    said = late_entries.keep(book, 1, stamp, "pts/3", END_UTC)
    assert said == "kept with run 1, gouge 7: in the oil after 9.0 s LATE"
    with Reader(book) as reader:
        assert read(reader, Note, run=1) == [Note("gouge 7", "in the oil after 9.0 s LATE", 1, "pts/3")]
        assert reader.run(1).complete
        assert reader.verify(1).complete, "the sealed record is not touched"


def test_files_and_tester_become_tests(book: Path) -> None:
    words = "60 skates, 65 cuts; tester 61.2 60.8 61.0; block 60.0 reads 60.5; bare"
    late_entries.keep(book, 1, {"mark": "result", "text": words}, "pts/3", END_UTC)
    with Reader(book) as reader:
        files, tester = read(reader, Hardness, "gouge 7", run=1)
    assert (files.low_hrc, files.high_hrc, files.bare_metal) == (60.0, 65.0, True)
    assert tester.readings == (61.2, 60.8, 61.0)
    assert (tester.low_hrc, tester.high_hrc) == (60.3, 60.7)


def test_without_the_word_bare_the_skin_is_doubted(book: Path) -> None:
    late_entries.keep(book, 1, {"mark": "result", "text": "file 60 skates"}, "", END_UTC)
    with Reader(book) as reader:
        (test,) = read(reader, Hardness, run=1)
    assert not test.bare_metal
    assert "not on bare metal" in test.words


def test_other_words_are_a_note_and_a_part_without_a_name_goes_by_its_run(book: Path) -> None:
    late_entries.keep(book, 2, {"mark": "result", "text": "bow 1 mm, straightened"}, "", END_UTC)
    with Reader(book) as reader:
        assert [n.text for n in read(reader, Note, "run 2")] == ["bow 1 mm, straightened"]


def test_what_is_no_hardness_is_refused_whole(book: Path) -> None:
    with pytest.raises(ConfigError, match='"612" is not an HRC value'):
        late_entries.keep(book, 1, {"mark": "result", "text": "60 skates; tester 612"}, "", END_UTC)
    with Reader(book) as reader:
        assert read(reader, Hardness) == []


def test_an_unknown_run_is_refused(book: Path) -> None:
    with pytest.raises(RecordError, match="no run 9"):
        late_entries.keep(book, 9, {"mark": "clamped"}, "", END_UTC)


def test_a_vickers_tester_at_the_screen_is_taken_in_its_scale() -> None:
    """697 HV are 60 HRC (ASTM E140)."""
    (found,) = late_entries.tests_in("tester HV 711 711; block 700 reads 714; bare", "p", 1, "")
    assert "block-corrected 697 HV" in found.words
    assert found.low_hrc == pytest.approx(60.0, abs=0.1)
    with pytest.raises(ConfigError, match="HRC"):
        late_entries.tests_in("tester 711 711; bare", "p", 1, "")
