"""What a text board's reply shows that the oven file does not say of it: the key that is missing."""

import re
from itertools import product

from kilnctl.config.device_keys import Device, TextDevice
from kilnctl.devices.checksums import KINDS
from kilnctl.devices.text import FIELD

REPLY = re.compile(r": (?:unexpected|damaged) reply (['\"])(.*)\1$")
NUMBER = re.compile(r"[+-]?[0-9.]+")
SUMMED = re.compile(r"(.*?)([^0-9A-Za-z. +-])([0-9A-Fa-f]{4}|[0-9A-Fa-f]{2})")


def missing_key(error: str, device: TextDevice) -> str:
    """Return what to write into the file for the reply in an error, or what to compare it with."""
    found = REPLY.search(error)
    reply = found[2] if found else ""
    if reply and any(reply.startswith(ask.send) for ask in device.ask) and not device.echoes:
        return "The board repeats what it is sent: write echoes = true."
    if reply and (summed := _summed(reply)):
        return f"Its lines end with a checksum: write {summed}."
    if odd := _words_for_numbers(reply, device):
        return f"{odd}: write the words under words, or what a broken sensor says under open_words."
    if re.search(r"\d,\d", error):
        return "Numbers need a decimal point, not a comma: change that in the board's program."
    expected = " or ".join(ask.reply for ask in device.ask)
    return f"The file expects {expected!r}: compare them letter by letter; if it is garbled, check the speed."


def _words_for_numbers(reply: str, device: TextDevice) -> str:
    """Return which fields hold words that the file does not have, empty where that is not the difference."""
    for ask in device.ask:
        parts = FIELD.split(ask.reply.replace("\n", r"\n"))
        text = (
            f"(?P<{part}>[A-Za-z-]+|[+-]?[0-9.]+)" if i % 2 else re.escape(part)
            for i, part in enumerate(parts)
        )
        if found := re.fullmatch("".join(text), reply):
            words = {name: word for name, word in found.groupdict().items() if not NUMBER.fullmatch(word)}
            return " and ".join(f"{name} is the word {word}" for name, word in words.items())
    return ""


def _summed(reply: str) -> str:
    """Return the keys of the checksum that a line ends with, empty where none fits."""
    found = SUMMED.fullmatch(reply)
    if found is None:
        return ""
    text, mark, digits = found.groups()
    starts = ("",) if text[:1].isalnum() else ("", text[:1])
    for (kind, (function, size)), start in product(KINDS.items(), starts):
        summed = text.removeprefix(start).encode("ascii", "replace")
        if size == len(digits) and function(summed) == int(digits, 16):
            after = f', checksum_after = "{start}"' if start else ""
            return f'checksum = "{kind}", checksum_mark = "{mark}"{after}'
    return ""


def left_over(name: str, after: bytes, device: Device | None = None) -> str:
    """Say what a board sends after its answer, and what the file would have to say; empty for nothing.

    Where what is sent ends with CR LF, the board may take the LF for a line of its own.
    """
    if not after:
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
