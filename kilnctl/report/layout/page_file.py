"""A document into a file: html or pdf, by its ending."""

from pathlib import Path

from kilnctl.errors import ConfigError
from kilnctl.report.layout.document import Document

KINDS = ("html", "pdf")


def write_page(document: Document, out: Path, kind: str = "") -> str:
    """Write a document and return the letters that are boxes on it, for want of a font.

    Raises ConfigError for another ending or a file that cannot be written.
    """
    kind = kind or out.suffix.lstrip(".").lower()
    if kind not in KINDS:
        raise ConfigError(f"{out}: a page is written as .html or .pdf")
    try:
        if kind == "html":
            from kilnctl.report.layout.html_page import write_html

            write_html(document, out)
            return ""
        else:
            from kilnctl.report.layout.pdf_page import write_pdf

            return write_pdf(document, out)
    except OSError as e:
        raise ConfigError(f"{out}: cannot be written: {e.strerror}") from None
