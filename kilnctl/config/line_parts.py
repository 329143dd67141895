"""What may stand in braces in a line of text, and what may end a line. Plain: an `off` loads it."""

import re
from collections.abc import Collection, Iterator
from itertools import pairwise

ANY, VALUE = "any", "value"
COMMAND = "_command"  # behind a field's name: what it is set by, where the answer has other words
ENDS = {"LF": b"\n", "CR": b"\r", "STX": b"\x02", "ETX": b"\x03", "EOT": b"\x04", "NUL": b"\0"}
# A name, and behind a colon the picture of its number; see devices/languages/text_numbers.py.
PART = re.compile(r"\{([a-z_0-9]+)(?::([^{}]*))?\}")
SENT, READ = re.compile(r"\+? *0+(?:\.0+)? *|\+?(?:X+|x+)"), re.compile(r"\+?[ 0]+(?:\.0+)? *|\+?(?:X+|x+)")
_NAME, _LIKE_A_NAME = re.compile(r"[a-z][a-z0-9_]*"), re.compile(r"\{[A-Za-z][\w -]*(?::[^{}\"]*)?\}")
BREAK = re.compile(r"[\r\n]|\\[rn]")  # also as it is typed, \n
IN_ONE_LINE = "a word stands in one line; the lines of an answer are parted in its reply"
_WORD = re.compile(r"[!-~](?:[ -~]{0,22}[!-~])?")
_OF_NUMBERS = re.compile(r"[-+.,\d ]*")


def why_no_end(words: str) -> str:
    """Return why no line can end so, empty where it can: names of ENDS or single characters, with blanks."""
    each = words.split(" ")
    if all(one in ENDS or (len(one) == 1 and "!" <= one <= "~") for one in each) and len(each) <= 3:
        return ""
    known = f"{', '.join(ENDS)}, or a character such as ;"
    return f"{words!r} ends no line: write {known}; up to three, with blanks between"


def why_no_word(word: str) -> str:
    """Return why no word for a number can be so, empty where it can."""
    if BREAK.search(word):
        return f"{word!r}: {IN_ONE_LINE}"
    if not _WORD.fullmatch(word):
        return f"{word!r}: a word has 1 to 24 ASCII characters, with no blank before or after"
    return ""


def why_not_sent(line: str) -> str:
    """Return what is wrong with a line that is to be sent, empty for nothing."""
    if not line.isascii():
        return f"{line!r}: only ASCII characters can be sent"
    if BREAK.search(line):
        return f"{line!r}: one line is sent at a time; what ends it is told by line_end"
    return _wrong_names(line) or next(
        (
            f"{{{name}:{picture}}} shows no number as it is sent: write it like 000, 0.0, +000, XX"
            for name, picture in _pictures(line)
            if not SENT.fullmatch(picture)
        ),
        "",
    )


def why_not_read(line: str) -> str:
    """Return what is wrong with an answer, empty for nothing."""
    if wrong := _wrong_names(line):
        return wrong
    if BREAK.search(line.replace("\n", "")):
        return f"{line!r}: \\n in double quotes parts two lines; their ends are told by answer_end"
    names = [name for name, _ in PART.findall(line) if name not in (ANY, VALUE)]
    if twice := next((name for name in names if names.count(name) > 1), ""):
        return f"{{{twice}}} stands twice in one answer: give the second another name"
    for name, picture in _pictures(line):
        if not READ.fullmatch(picture):
            return f"{{{name}:{picture}}} shows no number as it comes: write it like 000, 0.0, +000, XX"
    return _touching(line)


def why_no_comma(line: str, words: Collection[str]) -> str:
    """Return which comma of an answer may be a decimal one, empty for none; `words` are no numbers."""
    for one, other in pairwise(PART.finditer(line)):
        between = line[one.end() : other.start()].strip(" ")
        if between == "," and not one[2] and not {one[1], other[1]} & {ANY, *words}:
            return f"a comma after {{{one[1]}}} may be a decimal one: show its digits, like {{{one[1]}:00.0}}"
    return ""


def _pictures(line: str) -> Iterator[tuple[str, str]]:
    return ((part[1], part[2]) for part in PART.finditer(line) if part[2] is not None)


def _wrong_names(line: str) -> str:
    for found in _LIKE_A_NAME.findall(line):
        part = PART.fullmatch(found)
        if part is None or not _NAME.fullmatch(part[1]):
            return f"{found}: a name in braces has small letters, digits and _"
    return ""


def _touching(line: str) -> str:
    """Two numbers side by side, or one beside {any}, could be divided anywhere."""
    parts = list(PART.finditer(line))
    for one, other in pairwise(parts):
        between = line[one.end() : other.start()]
        loose = ANY in (one[1], other[1]) and between != " " * len(between) and _OF_NUMBERS.fullmatch(between)
        if loose or (ANY in (one[1], other[1]) and not between):
            said = f"{{{one[1]}}} and {{{other[1]}}} touch"
            return f"{said}: in place of {{any}} give that number a name of its own, like {{x1}}"
        if not between and not (one[2] or other[2]):
            return f"{{{one[1]}}} and {{{other[1]}}} touch: show their digits, like {{{one[1]}:0}}"
    return ""
