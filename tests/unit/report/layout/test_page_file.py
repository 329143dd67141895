"""A page into a file by its ending; another ending, or a place that cannot be written, is one line."""

from pathlib import Path

import pytest

from kilnctl.errors import ConfigError
from kilnctl.report.layout.document import Document
from kilnctl.report.layout.page_file import write_page

PAGE = Document("A page", ())


def test_the_ending_says_the_kind(tmp_path: Path) -> None:
    write_page(PAGE, tmp_path / "a.HTML")
    assert "A page" in (tmp_path / "a.HTML").read_text(encoding="utf-8")


@pytest.mark.parametrize(("name", "why"), [("a.txt", "as .html or .pdf"), ("no/a.html", "cannot be written")])
def test_what_cannot_be_written_is_said(name: str, why: str, tmp_path: Path) -> None:
    with pytest.raises(ConfigError, match=why):
        write_page(PAGE, tmp_path / name)
