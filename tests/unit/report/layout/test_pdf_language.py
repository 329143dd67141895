"""The language of a PDF, as another library reads it."""

from pathlib import Path

from matplotlib.backends.backend_pdf import PdfPages
from matplotlib.figure import Figure
from pypdf import PdfReader

from kilnctl.report.layout.pdf_language import set_language


def test_a_page_says_its_language_and_keeps_what_it_had(tmp_path: Path) -> None:
    path = tmp_path / "page.pdf"
    with PdfPages(path, metadata={"Title": "a heat"}) as pdf:
        pdf.savefig(Figure(figsize=(1.0, 1.0)))
    set_language(path)
    read = PdfReader(path, strict=True)
    assert read.root_object["/Lang"] == "en"
    assert read.root_object["/ViewerPreferences"]["/DisplayDocTitle"]
    assert (len(read.pages), read.metadata and read.metadata.title) == (1, "a heat")


def test_a_file_of_another_form_stays_as_it_is(tmp_path: Path) -> None:
    path = tmp_path / "page.pdf"
    path.write_bytes(b"%PDF-2.0 something else")
    set_language(path)
    assert path.read_bytes() == b"%PDF-2.0 something else"
