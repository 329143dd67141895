"""The language of a text board by asking: its lines, and the words that stand for numbers."""

import re
from collections.abc import Callable

from kilnctl.cli.oven.oven_file.typed_values import read

Ask = Callable[[str], str]
Say = Callable[[str], object]
FIELD = re.compile(r"\{([a-z][a-z0-9_]*)\}")
HOW = (
    "# Which lines are sent to ask for values, and what comes back, character by character? In the answer\n"
    "# write a name in braces where a value stands, like T={process} H={heater}, and \\n where the next\n"
    "# line begins. An empty line ends the list."
)
WORDS = (
    "# Is a value a word? Write the word for 0 (off, shut), then the word for 1 (on, open), like OFF, ON.\n"
    "# Enter: it is a number."
)
TOLD = (
    "# Which line is sent to set {name}, and what comes back? Write {{value}} where the number or word\n"
    "# stands; without it the line is always the same."
)


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


def ask_word_table(dotted: str, names: list[str], ask: Ask, say: Say) -> dict[str, list[str]]:
    """Ask for the words of each value that is a word."""
    say(WORDS)
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
