"""What a screen reader asks of a PDF first: its language, and to be called by its title, not by its file.

The library writes neither. Both are appended as an incremental update (ISO 32000-1, 7.5.6, from memory): the
catalog once more, with its place and a trailer that points back.
"""

import re
from pathlib import Path

CATALOG = re.compile(rb"1 0 obj\n<< /Type /Catalog (.*?) >>\nendobj", re.DOTALL)
TRAILER = re.compile(rb"trailer\n<< (/Size \d+ /Root 1 0 R.*?) >>\nstartxref\n(\d+)\n%%EOF", re.DOTALL)
SPOKEN = b"/Lang (en) /ViewerPreferences << /DisplayDocTitle true >>"


def set_language(path: Path) -> None:
    """Append the language to a PDF that the chart library wrote; one of another form stays as it is."""
    written = path.read_bytes()
    catalog, trailer = CATALOG.search(written), TRAILER.search(written)
    if catalog is None or trailer is None:
        return
    entries, (about, before) = catalog[1], trailer.groups()
    at, again = len(written) + 1, b"1 0 obj\n<< /Type /Catalog %s %s >>\nendobj\n" % (entries, SPOKEN)
    table = b"xref\n0 1\n0000000000 65535 f \n1 1\n%010d 00000 n \n" % at
    end = b"trailer\n<< %s /Prev %s >>\nstartxref\n%d\n%%%%EOF\n" % (about, before, at + len(again))
    path.write_bytes(written + b"\n" + again + table + end)
