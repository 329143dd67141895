"""The manual page: the help of every command, set for man(1) from the text of `kilnctl guide commands`."""

import re
from collections.abc import Iterator

import kilnctl

HEAD = f""".TH KILNCTL 1 "" "kilnctl {kilnctl.__version__}" "User commands"
.SH NAME
kilnctl \\- heat treatment of small steel parts: planned, rehearsed, run and recorded
.SH CAUTION
It switches heaters that can start fires, burn and electrocute. It is not a safety device: fit and test an
independent over\\-temperature limit."""
TAIL = """.SH SEE ALSO
.B kilnctl guide
lists the pages of the user's guide."""


def man_page(markdown: str) -> str:
    """Return the manual page that says what the Markdown of the commands says."""
    body = markdown.partition("## Table of Contents")[2]
    return "\n".join([HEAD, *_lines(body[body.index("\n## ") :]), TAIL])


def _lines(markdown: str) -> Iterator[str]:
    code = False
    for line in markdown.splitlines():
        if line.startswith("```"):
            code = not code
            yield ".RS 2\n.nf" if code else ".fi\n.RE"
        elif code:
            yield _plain(line)
        elif match := re.match(r"(#+) (.*)", line):
            yield f"{'.SH' if len(match[1]) == 2 else '.SS'} {_plain(match[2])}"
        elif match := re.match(r"\s*[*-] (`[^`]*`): ?(.*)", line):
            yield f".TP\n.B {_plain(match[1])}\n{_plain(match[2])}"
        elif match := re.match(r"\s*[*-] (.*)", line):
            yield f".IP \\(bu 2\n{_plain(match[1])}"
        else:
            yield _plain(line.strip()) or ".PP"


def _plain(text: str) -> str:
    """Return text without marks of Markdown, safe for roff."""
    text = re.sub(r"\*\*|`|\*\[|\]\*", "", text).replace("\\", "\\e").replace("-", "\\-")
    return f"\\&{text}" if text.startswith((".", "'")) else text
