"""The language of a text board by asking: its lines, and the words that stand for numbers."""

import re
from collections.abc import Callable, Sequence
from typing import Any

from kilnctl.cli.oven.oven_file.typed_values import read, with_controls
from kilnctl.config.line_parts import ANY, COMMAND, PART, VALUE, why_no_word, why_not_read, why_not_sent

Ask = Callable[[str], str]
Say = Callable[[str], object]
NOTHING = ("", "-", "none")  # as for keys: - leaves out what Enter leaves out
SAME_LINE = "no {value} stands in it, so on and off (0) would be the same line: write it where that stands"
NEEDED = "this one has no default: look in the board's program"
UNASKED = (
    "# If the line that it sends by itself carries values, write it as it comes, with a name in braces\n"
    "# where a value stands. Enter: what is needed is asked for."
)
HOW = (
    "# Which lines are sent to ask for values, and what comes back, character by character? In the answer\n"
    "# write a name in braces where a value stands, like T={process} H={heater}, \\n where the next line\n"
    "# begins, {any} where something changes that nobody needs, {k1:0} or {t:000.0} for a value of so many\n"
    "# digits, {t:XXXX} for hexadecimal ones. An empty line ends the list."
)
WORDS = (
    "# Is a value a word? Write the word for 0 (off, shut), then the word for 1 (on, open), like OFF, ON.\n"
    "# Enter: it is a number."
)
TOLD = (
    "# Which line is sent to set {name}, and what comes back? Write {{value}} where the number or word\n"
    "# stands, {{value:000}} or {{value:0.00}} where it always has so many digits, {{any}} in the answer\n"
    "# where something changes. Without {{value}} the line is always the same. No answer: press Enter there."
)

COMMANDED = (
    "# In the answers {name} is {answered}. Does the command say the same? Enter: yes. Else write the\n"
    "# command's word for 0, then its word for 1:"
)


class Languages:
    """What was told so far of each text board: its lines and words. How an output is set is told with it."""

    def __init__(self, ask: Ask, say: Say) -> None:
        self._ask, self._say = ask, say
        self._told: dict[str, dict[str, Any]] = {}

    def __contains__(self, device: str) -> bool:
        return device in self._told

    def ask_for(self, device: str, unasked: bool = False) -> dict[str, Any]:
        """Ask what a board is asked and answers; return the part of the file, which grows with `ask_told`."""
        dotted = f"device.{device}"
        said = ask_unasked(dotted, self._ask, self._say) if unasked else []
        asked = ask_requests(dotted, self._ask, self._say, said)
        words = ask_word_table(dotted, fields(asked), self._ask, self._say)
        self._told[device] = {"words": words, "ask": asked, "tell": {}}
        return self._told[device]

    def names(self, device: str) -> list[str]:
        """Return the names of the values in a board's answers."""
        return fields(self._told[device]["ask"])

    def tells(self, device: str, name: str) -> bool:
        """True where it was told how something is set."""
        return name in self._told[device]["tell"]

    def numbers(self, device: str, name: str) -> bool:
        """True where the line that sets something has a number in it, and no word."""
        told = self._told.get(device, {"tell": {}, "words": {}})
        return _has_value(told["tell"].get(name, {"send": ""})["send"]) and name not in told["words"]

    def ask_told(self, device: str, name: str, counts: bool = False) -> tuple[str, bool]:
        """Ask how something is set; return its name there and whether the line has a number or word in it.

        Where it `counts`, it must have one.
        What is set in other words than it answers has a name of its own, and is read back by the first one.
        """
        dotted, told = f"device.{device}", self._told[device]
        line = ask_told(dotted, name, self._ask, self._say, counts)
        counts = _has_value(line["send"])
        other = f"{name}{COMMAND}"
        if counts and name not in self.names(device):
            told["words"] |= ask_word_table(dotted, [name], self._ask, self._say)
        elif counts:
            answered = told["words"].get(name)
            said = COMMANDED.format(name=name, answered=" or ".join(answered) if answered else "a number")
            told["words"] |= ask_word_table(dotted, [other], self._ask, self._say, said)
        name = other if other in told["words"] else name
        told["tell"][name] = line
        return name, counts

    def shown_at(self, place: dict[str, Any]) -> dict[str, Any]:
        """Return where the number or word is read by which something is set; empty where in no answer."""
        device, set_by = place.get("device", ""), str(place.get("field", ""))
        field = set_by.removesuffix(COMMAND)
        shown = self.says(place) and field in self.names(device)
        return {"device": device, "field": field} if shown else {}

    def says(self, place: dict[str, Any]) -> bool:
        """True where the line that sets something has a number or word in it."""
        device, set_by = place.get("device", ""), str(place.get("field", ""))
        return device in self and _has_value(self._told[device]["tell"].get(set_by, {"send": ""})["send"])

    def read_back(self, place: dict[str, Any]) -> dict[str, Any]:
        """Return where an output is read that is set in other words than it answers; empty for any other."""
        device, set_by = place.get("device", ""), str(place.get("field", ""))
        field = set_by.removesuffix(COMMAND)
        split = device in self and field != set_by and field in self.names(device)
        return {"back": {"device": device, "field": field}} if split else {}


def ask_unasked(dotted: str, ask: Ask, say: Say) -> list[dict[str, str]]:
    """Ask for the line that a board sends by itself, where it carries values; none where it does not."""
    say(UNASKED)
    while (reply := _lines(ask(f"{dotted}.unasked.reply: "))) not in NOTHING:
        if not (why := _why_no_answer(reply)):
            return [{"reply": reply}]
        say(why)
    return []


def ask_requests(
    dotted: str, ask: Ask, say: Say, unasked: Sequence[dict[str, str]] = ()
) -> list[dict[str, str]]:
    """Ask which lines are asked for values, at least one; what has no value in braces is asked again."""
    say(HOW)
    found = list(unasked)
    while (send := ask(f"{dotted}.ask.send: ").strip()) or not found:
        if not send:
            say("one line at least: nothing could be read otherwise")
            continue
        send = _one_line(send)
        while why := why_not_sent(send) or _why_no_answer(reply := _lines(ask(f"{dotted}.ask.reply: "))):
            say(why)
        found.append({"send": send, "reply": reply})
    return found


def fields(requests: list[dict[str, str]]) -> list[str]:
    """Return the names in braces of all replies, each once."""
    names = (name for one in requests for name, _ in PART.findall(one["reply"]))
    return list(dict.fromkeys(name for name in names if name != ANY))


def _why_no_answer(reply: str) -> str:
    if not fields([{"reply": reply}]):
        return "no {name} stands in it, so nothing could be read: write one where the value stands"
    return why_not_read(reply)


def _has_value(send: str) -> bool:
    return any(name == VALUE for name, _ in PART.findall(send))


def ask_word_table(
    dotted: str, names: list[str], ask: Ask, say: Say, why: str = WORDS
) -> dict[str, list[str]]:
    """Ask for the words of each value that is a word."""
    say(why)
    found = {}
    for name in names:
        while (typed := ask(f"{dotted}.words.{name}: ").strip()) not in NOTHING:
            words = read(typed, [""])
            wrong = next(filter(None, map(why_no_word, words)), "")
            if not wrong and len(set(words)) == len(words) > 1:
                found[name] = words
                break
            say(wrong or "two words that differ, the one for 0 first, or Enter")
    return found


def ask_told(dotted: str, name: str, ask: Ask, say: Say, counts: bool = False) -> dict[str, str]:
    """Ask how an output or the dead-man is set; one that `counts` has its number or word in the line."""
    say(TOLD.format(name=name))
    told: dict[str, str] = {}
    for key, wrong in (("send", why_not_sent), ("reply", why_not_read)):
        while True:
            typed = (_one_line if key == "send" else _lines)(ask(f"{dotted}.tell.{name}.{key}: "))
            same = SAME_LINE if counts and key == "send" and not _has_value(typed) else ""
            if not (why := wrong(typed) or same if typed or key == "reply" else NEEDED):
                break
            say(why)
        told |= {key: typed} if typed else {}
    return told


def _lines(typed: str) -> str:
    """Return a line as it goes over the wire: \\n for the next one, <STX> for a control character.

    The end of the last one, as sheets print it, has a key of its own.
    """
    text = re.sub(r"\\r\\n|\\r|<CR>(?:<LF>)?", "\r", typed.strip()).removesuffix("\r").replace("\r", "\n")
    return with_controls(text.replace("\\n", "\n").replace("\\t", "\t"))


def _one_line(typed: str) -> str:
    return _lines(typed).rstrip("\n")


def line_as_sent(typed: str, answer: bool) -> str:
    """Return a line of a board as it goes over the wire; an answer may have several."""
    return _lines(typed) if answer else _one_line(typed)
