"""The language of a text board by asking: its lines, and the words that stand for numbers."""

import re
from collections.abc import Callable
from typing import Any

from kilnctl.cli.oven.oven_file.typed_values import read

Ask = Callable[[str], str]
Say = Callable[[str], object]
COMMAND = "_command"
FIELD = re.compile(r"\{([a-z][a-z0-9_]*)\}")
HOW = (
    "# Which lines are sent to ask for values, and what comes back, character by character? In the answer\n"
    "# write a name in braces where a value stands, like T={process} H={heater}, and \\n where the next\n"
    "# line begins. An empty line ends the list."
)
WORDS = (
    "# Is a value a word? Write the word for 0 (off, shut), then the word for 1 (on, open), like OFF, ON.\n"
    "# So too where the board takes a number in one form only, like 0.00, 1.00. Enter: it is a number."
)
TOLD = (
    "# Which line is sent to set {name}, and what comes back? Write {{value}} where the number or word\n"
    "# stands; without it the line is always the same."
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

    def ask_for(self, device: str) -> dict[str, Any]:
        """Ask what a board is asked and answers; return the part of the file, which grows with `ask_told`."""
        dotted = f"device.{device}"
        asked = ask_requests(dotted, self._ask, self._say)
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
        return "{value}" in told["tell"].get(name, {"send": ""})["send"] and name not in told["words"]

    def ask_told(self, device: str, name: str) -> tuple[str, bool]:
        """Ask how something is set; return its name there and whether the line has a number or word in it.

        What is set in other words than it answers has a name of its own, and is read back by the first one.
        """
        dotted, told = f"device.{device}", self._told[device]
        line = ask_told(dotted, name, self._ask, self._say)
        counts = "{value}" in line["send"]
        other = f"{name}{COMMAND}"
        if counts and name not in self.names(device):
            told["words"] |= ask_word_table(dotted, [name], self._ask, self._say)
        elif counts and (answered := told["words"].get(name)):
            said = COMMANDED.format(name=name, answered=" or ".join(answered))
            told["words"] |= ask_word_table(dotted, [other], self._ask, self._say, said)
        name = other if other in told["words"] else name
        told["tell"][name] = line
        return name, counts

    def read_back(self, place: dict[str, Any]) -> dict[str, Any]:
        """Return where an output is read that is set in other words than it answers; empty for any other."""
        device, set_by = place.get("device", ""), str(place.get("field", ""))
        field = set_by.removesuffix(COMMAND)
        split = device in self and field != set_by and field in self.names(device)
        return {"back": {"device": device, "field": field}} if split else {}


def ask_requests(dotted: str, ask: Ask, say: Say) -> list[dict[str, str]]:
    """Ask which lines are asked for values, at least one; what has no value in braces is asked again."""
    say(HOW)
    found: list[dict[str, str]] = []
    while (send := ask(f"{dotted}.ask.send: ").strip()) or not found:
        if not send:
            say("one line at least: nothing could be read otherwise")
            continue
        while not fields([one := {"send": send, "reply": _lines(ask(f"{dotted}.ask.reply: "))}]):
            say("no {name} stands in it, so nothing could be read: write one where the value stands")
        found.append(one)
    return found


def fields(requests: list[dict[str, str]]) -> list[str]:
    """Return the names in braces of all replies, each once."""
    return list(dict.fromkeys(name for one in requests for name in FIELD.findall(one["reply"])))


def ask_word_table(
    dotted: str, names: list[str], ask: Ask, say: Say, why: str = WORDS
) -> dict[str, list[str]]:
    """Ask for the words of each value that is a word."""
    say(why)
    found = {}
    for name in names:
        while typed := ask(f"{dotted}.words.{name}: ").strip():
            if len(words := read(typed, [""])) > 1 and len(set(words)) == len(words):
                found[name] = words
                break
            say("two words that differ, the one for 0 first, or Enter")
    return found


def ask_told(dotted: str, name: str, ask: Ask, say: Say) -> dict[str, str]:
    """Ask how an output or the dead-man is set."""
    say(TOLD.format(name=name))
    told: dict[str, str] = {}
    for key in ("send", "reply"):
        while not (typed := ask(f"{dotted}.tell.{name}.{key}: ").strip()):
            say("this one has no default: look in the board's program")
        told[key] = _lines(typed)
    return told


def _lines(typed: str) -> str:
    return typed.strip().replace("\\n", "\n")
