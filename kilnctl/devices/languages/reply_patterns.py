"""What a reply in lines of text must look like: literal except for what stands in braces."""

import re
from collections.abc import Callable, Mapping, Sequence
from types import MappingProxyType

from kilnctl.config.line_parts import ANY, PART
from kilnctl.devices.languages.text_numbers import expression

NOT_ASCII = "\N{REPLACEMENT CHARACTER}{1,4}"  # such as a degree sign, in whatever code the board has


def with_parts(reply: str, value: Callable[[str, str], str], instead: str = "") -> re.Pattern[str]:
    """Return the expression of a reply: literal except for what `value` gives for a name and its picture.

    `instead` is what may stand, behind a value, for the rest of its line.
    """
    return re.compile(re.escape("\n").join(_of_a_line(line, value, instead) for line in reply.split("\n")))


def _of_a_line(line: str, value: Callable[[str, str], str], instead: str) -> str:
    part = PART.search(line)
    if part is None:
        return _literal(line)
    rest = _of_a_line(line[part.end() :], value, instead)
    if part[1] == ANY:
        return f"{_literal(line[: part.start()])}.*{rest}"
    told = _literal(line[: part.start()]) + value(part[1], part[2] or "")
    return told + (f"(?:{rest}{instead})" if rest and instead else rest)


def _literal(text: str) -> str:
    return "".join(re.escape(one) if one.isascii() else NOT_ASCII for one in text)


def pattern(
    reply: str,
    open_words: Sequence[str],
    words: Mapping[str, Sequence[str]] = MappingProxyType({}),
    point: str = ".",
) -> re.Pattern[str]:
    """Return the expression of a reply: literal except for {names}, which are numbers or words."""

    def value(field: str, picture: str) -> str:
        told = [re.escape(word) for word in (*words.get(field, ()), *open_words)]
        return f"(?P<{field}>{'|'.join(told if field in words else [expression(picture, point), *told])})"

    # A broken sensor's word may stand without what follows the number in its line: its unit, or more. But not
    # one that a number may end with (-999): that would be a number without its unit.
    broken = "".join(
        f"|(?<={re.escape(word)})" for word in open_words if not (word[-1:].isdigit() or word[-1:] in ".,")
    )
    return with_parts(reply, value, broken)
