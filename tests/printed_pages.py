"""What a reader sees of a page: in a browser, on paper, and where on the sheet each word stands."""

from html.parser import HTMLParser
from pathlib import Path

from pypdf import PdfReader

from kilnctl.logbook.readers import Reader
from kilnctl.logbook.writer import Logbook
from kilnctl.report.layout.html_page import write_html
from kilnctl.report.layout.pdf_page import write_pdf
from kilnctl.report.record import load_record
from kilnctl.report.record_page import record_page
from kilnctl.report.workshop import Workshop

SHOP = Workshop("Weir Lane Toolroom")


class _Text(HTMLParser):
    """Collects what a reader sees, and what a browser would fetch."""

    def __init__(self) -> None:
        super().__init__()
        self.seen: list[str] = []
        self.fetched: list[str] = []

    def handle_data(self, data: str) -> None:
        self.seen.append(data)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.fetched += [
            v for k, v in attrs if v and k in ("src", "href", "xlink:href") and not v.startswith("#")
        ]


def page_text(book: Logbook, run: int, folder: Path) -> str:
    reader = Reader(book.connection)
    write_html(record_page(reader, load_record(reader, run), SHOP), folder / "page.html")
    parser = _Text()
    parser.feed((folder / "page.html").read_text(encoding="utf-8"))
    assert parser.fetched == []
    return " ".join(" ".join(parser.seen).split())


def paper_text(book: Logbook, run: int, folder: Path) -> str:
    reader = Reader(book.connection)
    write_pdf(record_page(reader, load_record(reader, run), SHOP), folder / "page.pdf")
    pdf = PdfReader(folder / "page.pdf")
    assert pdf.root_object["/Lang"] == "en", "the page came from the appended catalog"
    assert len(pdf.pages) == 2, "one sheet: a front and a back"
    assert [round(float(v)) for v in pdf.pages[0].mediabox[2:]] == [595, 842]  # A4 in points, ISO 216
    return " ".join(" ".join(page.extract_text() for page in pdf.pages).split())


def printed(path: Path) -> list[tuple[float, float, float, str]]:
    """Return (x, y, size, words) in points of everything printed, as another library reads it."""
    found: list[tuple[float, float, float, str]] = []

    def see(text: str, user: list[float], place: list[float], _: object, size: float) -> None:
        if text.strip():
            x = user[4] + user[0] * place[4] + user[2] * place[5]
            y = user[5] + user[1] * place[4] + user[3] * place[5]
            found.append((x, y, size, text.strip()))

    for page in PdfReader(path).pages:
        page.extract_text(visitor_text=see)
    return found
