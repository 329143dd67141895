"""An oven file written by asking: the keys of an example one by one, each in words and checked at once."""

import json
import re
import tomllib
from collections.abc import Callable, Container
from copy import deepcopy
from typing import Any

from kilnctl.cli.oven.oven_file.templates import WAYS, Way, meaning, template
from kilnctl.config.oven import Oven
from kilnctl.errors import ConfigError
from kilnctl.tomlfile import loads

Ask = Callable[[str], str]
Say = Callable[[str], object]
Path = tuple[str, ...]
NEEDED = {"process", "heater"}  # of signals and outputs; all others may be missing on a bench
# Whoever presses Enter here would take an invented number for his own.
TYPED = {
    *("name", "power", "limit", "isolator", "path", "address", "register", "low", "high"),
    *("write", "then", "drops_after", "holds", "park", "link_loss", "expect", "send", "reply"),
}
LEFT_OUT = "-"
OVER_TWO, ORDER = ("int32", "uint32", "float32"), "word_order"
STOP = "q"
DEAD_MAN = (
    "Does the board drop its outputs by itself when nobody writes to it (watchdog, time-out, fail-safe)?"
)
IDENTITY = "Does the board's table name a register that always holds one number, by which it can be known?"


def stoppable(ask: Ask) -> Ask:
    """Return what asks and, where the answer is q, raises EOFError as an end of all answers does."""

    def asked(question: str) -> str:
        typed = ask(question)
        if typed.strip().lower() == STOP:
            raise EOFError
        return typed

    return asked


def ask_way(ask: Ask, say: Say) -> Way:
    """Ask what is on the bench."""
    say("What is on the bench? (q stops, here and later; nothing is written before the end)")
    for number, way in enumerate(WAYS, 1):
        say(f"  {number}  {way.words}")
    while True:
        typed = ask("kind: ").strip()
        if typed.isdecimal() and 1 <= int(typed) <= len(WAYS):
            return WAYS[int(typed) - 1]
        say(f"type a number from 1 to {len(WAYS)}")


class Asker:
    """Asks for the keys of one example. `taken` are names that another oven has."""

    def __init__(self, way: Way, ask: Ask, say: Say, taken: Container[str] = ()) -> None:
        self._example = template(way)
        self._ask, self._say, self._taken = ask, say, taken
        self._told: set[Path] = set()
        self._missing: set[str] = set()

    def file(self) -> dict[str, Any]:
        """Ask for everything and return the file as plain data. Raises EOFError where answers end."""
        return {key: made for key, value in self._example.items() if (made := self._part((key,), value))}

    def _part(self, path: Path, value: Any) -> Any:
        if path == ("dead_man",) and not self._yes(f"dead_man: {DEAD_MAN}"):
            return None
        if path == ("identity",):
            return [self._table(path, one) for one in value] if self._yes(f"identity: {IDENTITY}") else None
        return self._value(path, value)

    def _value(self, path: Path, value: Any) -> Any:
        if isinstance(value, dict):
            return self._table(path, value) if self._is_there(path) else None
        if path[-1] == "ask":
            return self._requests(path)
        return self._key(path, value)

    def _table(self, path: Path, values: dict[str, Any]) -> dict[str, Any]:
        made = {}
        for key, one in list(values.items()):
            if (answer := self._value((*path, key), one)) is not None:
                made[key] = answer
            if key == "format" and answer in OVER_TWO and ORDER not in values:
                values[key] = answer  # so that the next answer is checked in its company
                made[ORDER] = self._value((*path, ORDER), "high first")
        return made

    def _is_there(self, path: Path) -> bool:
        """Ask whether the bench has what only some have: signals, outputs, a second device."""
        may_miss = path[0] in ("signal", "output") and len(path) > 1 and path[-1] not in NEEDED
        more = path[0] == "device" and len(path) == 2 and path[1] != next(iter(self._example["device"]))
        if more:
            own = self._yes(f"{_dotted(path)}: is this a device of its own?")
            self._missing |= set() if own else {path[1]}
            return own
        return not may_miss or self._yes(self._question(path))

    def _question(self, path: Path) -> str:
        return f"{_dotted(path)}: do you have this? {meaning(path)}"

    def _requests(self, path: Path) -> list[dict[str, str]]:
        self._say(f"# {meaning(path)}\n# Which lines are asked for values? An empty one ends the list.")
        found: list[dict[str, str]] = []
        while send := self._ask(f"{_dotted(path)}.send: ").strip():
            reply = self._ask(f"{_dotted(path)}.reply: ").strip()
            found.append({"send": send, "reply": reply.replace("\\n", "\n")})
        return found

    def _key(self, path: Path, value: Any) -> Any:
        """Ask for one key until its answer can be what the file allows there."""
        names = self._names(path[-1])
        if path[-1] == "device" and value in self._missing:
            value = names[0]
        if len(names) == 1:
            return names[0]
        words = meaning(path)
        if words and (path[0], path[-1]) not in self._told:
            self._told.add((path[0], path[-1]))
            self._say(f"# {path[-1]}: {words}")
        offered = "" if path[-1] in TYPED else f" [{_shown(value)}]"
        while True:
            typed = self._ask(f"{_dotted(path)}{offered}: ").strip()
            if typed == LEFT_OUT:
                return None
            if not typed and offered:
                return value
            try:
                if names and typed not in names:
                    raise ConfigError(f"there is no {typed}; the file has {' and '.join(names)}")
                return self._checked(path, _read(typed, value))
            except ConfigError as e:
                self._say(str(e))

    def _names(self, key: str) -> list[str]:
        """Return the ports or devices that a key may name, nothing for any other key."""
        if key not in ("port", "device"):
            return []
        return [name for name in self._example[key] if name not in self._missing]

    def _checked(self, path: Path, answer: Any) -> Any:
        """Return the answer if the example with it is a file that has no mistake at this key."""
        if answer == "":
            raise ConfigError("this one has no default: look in the device's table or on its plate")
        if path == ("name",) and answer in self._taken:
            raise ConfigError(f"there is an oven {answer} already; take another name, or q and edit its file")
        tried = deepcopy(self._example)
        table: Any = tried
        for key in path[:-1]:
            table = table[key][0] if key == "identity" else table[key]
        table[path[-1]] = answer
        try:
            loads(written(tried), Oven, ConfigError, "oven")
        except ConfigError as e:
            here = [line for line in str(e).splitlines() if f": {_dotted(path)}: " in line]
            if here:
                raise ConfigError(here[0].partition(": ")[2]) from None
        return answer

    def _yes(self, question: str) -> bool:
        while True:
            typed = self._ask(f"{question} [y/n] ").strip().lower()
            if typed in ("y", "n"):
                return typed == "y"
            self._say("type y or n")


def _dotted(path: Path) -> str:
    return ".".join(path)


def _shown(value: Any) -> str:
    return value if isinstance(value, str) else json.dumps(value)


def _read(typed: str, like: Any) -> Any:
    """Return what was typed as the kind of value that the example has there. Raises ConfigError."""
    if isinstance(like, str) or not typed:
        return typed
    plain = f"[{typed}]" if isinstance(like, list) and not typed.startswith("[") else typed
    words = {"y": "true", "n": "false", "yes": "true", "no": "false", "true": "true", "false": "false"}
    try:
        return tomllib.loads(f"value = {words.get(plain.lower(), plain)}")["value"]
    except ValueError:
        raise ConfigError(f"{typed} cannot be read; write it like {_shown(like)}") from None


def written(data: dict[str, Any], commented: bool = False) -> str:
    """Return plain data as the text of an oven file, each key once with what the guide says of it."""
    lines: list[str] = []
    told: set[Path] = set()

    def put(path: Path, value: Any) -> None:
        words = meaning(path)
        if commented and words and (path[0], path[-1]) not in told:
            told.add((path[0], path[-1]))
            lines.append(f"# {path[-1]}: {words}")
        lines.append(f"{_key_text(path[-1])} = {_inline(value)}")

    for key, value in data.items():
        if not _is_tables(key):
            put((key,), value)
    for key, value in data.items():
        for path, table in _tables(key, value) if _is_tables(key) else ():
            lines += ["", f"[[{key}]]" if key == "identity" else f"[{_dotted(path)}]"]
            for name, one in table.items():
                put((*path, name), one)
    return "\n".join([*lines, ""])


def _is_tables(key: str) -> bool:
    return key in ("port", "device", "signal", "output", "identity", "dead_man")


def _tables(key: str, value: Any) -> list[tuple[Path, dict[str, Any]]]:
    if key == "identity":
        return [((key,), one) for one in value]
    if key == "dead_man":
        return [((key,), value)]
    return [((key, name), one) for name, one in value.items()]


def _key_text(key: str) -> str:
    return key if re.fullmatch(r"[A-Za-z0-9_-]+", key) else json.dumps(key)


def _inline(value: Any) -> str:
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{_key_text(k)} = {_inline(v)}" for k, v in value.items()) + " }"
    if isinstance(value, list):
        return "[" + ", ".join(map(_inline, value)) + "]"
    return json.dumps(value, ensure_ascii=False)
