"""What a text board's reply shows that the oven file does not say of it: the key that is missing."""

import ast
import json
import re
from collections.abc import Iterable, Iterator
from difflib import SequenceMatcher
from itertools import combinations, product
from typing import Any

from kilnctl.config.device_keys import Ask, Device, TextDevice
from kilnctl.config.line_parts import ANY, PART
from kilnctl.devices.checksums import KINDS, tail
from kilnctl.devices.languages.reply_patterns import pattern
from kilnctl.devices.languages.text import NO_ECHO
from kilnctl.devices.languages.text_numbers import number

REPLY = re.compile(r": (?:unexpected|damaged) reply (['\"])(.*)\1$")
ERROR, UNIT = re.compile(r"(?i)\W*err"), re.compile(r"\} ?°?([CF])\b")
NUMBER = re.compile(r"[+-]?[0-9.]+")
HEXADECIMAL = re.compile(r"(?=.*\d)(?=.*[A-Fa-f])(?:[0-9A-Fa-f]{2}){1,4}")
NO_ASCII = re.compile(r"[^\x00-\x7f]+")
MOST_VALUES, ALIKE, LONGEST_BUSY = 9, 0.3, 24
SUMMED = re.compile(r"(.*?)([^0-9A-Za-z. +-])([0-9A-Fa-f]{4}|[0-9A-Fa-f]{2})")


def missing_key(error: str, device: TextDevice) -> str:
    """Return what to write into the file for the reply in an error, or what to compare it with."""
    if NO_ECHO in error:
        return "Where the board repeats nothing, take echoes out."
    found = REPLY.search(error)
    reply = found[2] if found else ""
    if reply and any(reply.startswith(ask.send) for ask in device.ask) and not device.echoes:
        return "The board repeats what it is sent: write echoes = true."
    if summed := next(sums_of(error, device), None):
        said = f"Its lines end with a checksum, as {as_keys(summed)} has it"
        return f"{said}; with that it still gives no answer like the one in the file: compare them."
    if odd := _words_for_numbers(reply, device):
        broken = "what a broken or not ready sensor says belongs under open_words (no heat then)"
        return f"{odd}: {broken}, the words of a switch under words{_busy(reply)}."
    if re.search(r"\d,\d", error) and device.decimal == "." and _fits(reply, device, ","):
        return 'Its numbers have a comma: write decimal = ",".'
    asked = [ask for ask in device.ask if f", {ask.send}: " in error] or list(device.ask)
    if hexadecimal := next((name for ask in asked if (name := _hexadecimal(ask.reply, reply))), ""):
        return f"{hexadecimal}: write it with its digits, like {{{hexadecimal.partition(' ')[0]}:XXXX}}."
    if better := next((made for ask in asked if (made := likely_reply(ask.reply, reply, device))), ""):
        said = f"If that is whole and right, write reply = {json.dumps(better, ensure_ascii=False)}"
        return f"{said}{_other_unit(better, asked)}."
    expected = " or ".join(ask.reply for ask in asked)
    said = f"The file expects {expected!r}: compare them letter by letter{_busy(reply)}"
    return f"{said}; if it is an error, look at line_end and send; if it is garbled, check the speed."


def _other_unit(better: str, asked: Iterable[Ask]) -> str:
    """Return what else to write where the letter of the unit is another one."""
    found = UNIT.search(better)
    others = {was[1] for ask in asked if (was := UNIT.search(ask.reply))}
    return f', and unit = "{found[1]}" at the temperature' if found and others - {found[1]} else ""


def _busy(reply: str) -> str:
    """Return what to write for a reply of words alone where it asks for patience, empty for any other."""
    if not reply or len(reply) > LONGEST_BUSY or re.search(r"\d", reply):
        return ""
    return f'; if it means "ask again", write busy_words = {json.dumps([reply])}'


def as_keys(changed: dict[str, Any]) -> str:
    """Return keys as they stand in a file, a control character in its TOML way."""
    return ", ".join(f"{key} = {json.dumps(value)}" for key, value in changed.items())


def marks_of(texts: Iterable[str]) -> str:
    """Return the marks with which some lines begin, such as $; no letters, digits, names or blanks."""
    first = (text[:1] for text in texts)
    return "".join(sorted({one for one in first if one and not one.isalnum() and one not in "{ "}))


def _fits(reply: str, device: TextDevice, point: str) -> bool:
    return any(
        pattern(ask.reply, device.open_words, device.words, point).fullmatch(reply.replace(r"\n", "\n"))
        for ask in device.ask
    )


def likely_reply(expected: str, came: str, device: TextDevice) -> str:
    """Return the pattern that a file should have for what came, empty where that cannot be told.

    The names of the pattern that was expected stand, in their order, where values came; which of several
    numbers are values is told by the words around them.
    """
    came = NO_ASCII.sub("°", came.replace(r"\n", "\n"))
    if ERROR.match(came):
        return ""
    names = [part[0] for part in PART.finditer(expected) if part[1] != ANY]
    known = sorted(
        {word for words in (*device.words.values(), device.open_words) for word in words if word}, key=len
    )
    either = "|".join(
        [*(re.escape(word) for word in reversed(known)), number(device.decimal).removeprefix(" {0,8}")]
    )
    values = [one for one in re.finditer(either, came) if not _of_a_name(one, expected)]
    if not names or not len(names) <= len(values) <= MOST_VALUES:
        return ""
    made = [_named(came, chosen, names) for chosen in combinations(values, len(names))]
    best = max(made, key=lambda one: _alike(expected, one))
    fits = pattern(best, device.open_words, device.words, device.decimal).fullmatch(
        NO_ASCII.sub("\ufffd", came)
    )
    return best if fits and _alike(expected, best) > ALIKE and best != expected else ""


def _of_a_name(value: re.Match[str], expected: str) -> bool:
    """True for digits that a letter precedes, as in T1, unless the file has a value behind that letter."""
    before = value.string[: value.start()][-1:]
    number_only = not value[0][:1].isalpha() and not value[0][:1].isspace()
    return number_only and before.isalpha() and f"{before}{{" not in expected


def _alike(one: str, other: str) -> float:
    """Return how alike two patterns are in what stands around their names, 0 to 1."""
    return SequenceMatcher(None, PART.sub("\0", one), PART.sub("\0", other)).ratio()


def _named(came: str, chosen: Iterable[re.Match[str]], names: Iterable[str]) -> str:
    text, at = "", 0
    for value, name in zip(chosen, names, strict=True):
        blanks = len(value[0]) - len(value[0].lstrip(" "))
        text += came[at : value.start() + blanks] + name
        at = value.end()
    return text + came[at:]


def _hexadecimal(expected: str, reply: str) -> str:
    """Return which value comes in hexadecimal digits, some of them letters, empty where none does."""
    text, at = "", 0
    for part in PART.finditer(expected):
        text += re.escape(expected[at : part.start()]) + (".*" if part[1] == ANY else f"(?P<{part[1]}>.+)")
        at = part.end()
    found = re.fullmatch(text + re.escape(expected[at:]), reply)
    return next(
        (
            f"{name} is hexadecimal ({word})"
            for name, word in (found.groupdict() if found else {}).items()
            if HEXADECIMAL.fullmatch(word)
        ),
        "",
    )


def _words_for_numbers(reply: str, device: TextDevice) -> str:
    """Return which fields hold words that the file does not have, empty where that is not the difference."""
    for ask in device.ask:
        text, at, expected = "", 0, ask.reply.replace("\n", r"\n")
        for part in PART.finditer(expected):
            any_value = ".*" if part[1] == ANY else f"(?P<{part[1]}>[A-Za-z-]+|[+-]?[0-9.]+)"
            text += re.escape(expected[at : part.start()]) + any_value
            at = part.end()
        end = re.escape(expected[at:])
        if found := re.fullmatch(text + (f"(?:{end}|(?<=[A-Za-z]))" if end else ""), reply):
            words = {
                name: word
                for name, word in found.groupdict().items()
                if not NUMBER.fullmatch(word) and word not in device.words.get(name, ())
            }
            return " and ".join(f"{name} is the word {word}" for name, word in words.items())
    return ""


def sums_of(error: str, device: TextDevice) -> Iterator[dict[str, Any]]:
    """Yield the keys of the checksum that the line in an error ends with, the likeliest first.

    An answer does not tell whether the first character of a command counts: that is to be tried.
    """
    found = REPLY.search(error)
    line = SUMMED.fullmatch(ast.literal_eval(found[1] + found[2] + found[1])) if found else None
    if line is None:
        return
    text, mark, digits = line.groups()
    if not text.isascii():
        return
    sent = marks_of(ask.send for ask in device.ask).replace(text[:1], "")
    own = device.checksum_after.replace(text[:1], "")
    for kind, start in product(KINDS, dict.fromkeys(("", marks_of([text])))):
        if tail(kind, mark, start, text) != mark + digits.upper():
            continue
        likely = sent if start else ""  # most often both leave it out, or neither
        for command in dict.fromkeys((likely if device.checksum == "none" else own, likely, sent, "")):
            made = {"checksum": kind, "checksum_mark": mark, "checksum_after": command + start}
            if changed := {key: one for key, one in made.items() if one != getattr(device, key)}:
                yield changed


def left_over(name: str, after: bytes, device: Device | None = None) -> str:
    """Say what a board sends after its answer, and what the file would have to say; empty for nothing.

    Where what is sent ends with CR LF, the board may take the LF for a line of its own.
    """
    if not after or (isinstance(device, TextDevice) and device.unasked):
        return ""
    if after == b"\n":
        return f'{name} ends its answers with CR LF: write answer_end = "CR LF"'
    text = after.decode("ascii", "replace")
    if isinstance(device, TextDevice) and device.line_end == "CR LF" and "\n" in text:
        cure = 'write line_end = "CR", answer_end = "CR LF"'
        return f"{name} answers the LF too, as a line of its own ({text.strip()[:40]!r}): {cure}"
    if "\n" in text or "\r" in text:
        return f"{name} sends more than the file expects: {text.strip()[:40]!r} follows. Add it to reply."
    return f'{name} shows {text!r} after each answer: write prompt = "{text}".'
