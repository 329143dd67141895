"""An oven file written by asking: the keys of an example one by one, each in words and checked at once."""

import json
import re
import tomllib
from collections.abc import Callable, Container
from copy import deepcopy
from typing import Any

from kilnctl.cli.oven.oven_file.file_text import Path, dotted, written
from kilnctl.cli.oven.oven_file.templates import WAYS, Way, meaning, template
from kilnctl.cli.terminal.by_asking import Ask
from kilnctl.config.oven import Oven
from kilnctl.errors import ConfigError
from kilnctl.tomlfile import loads

Say = Callable[[str], object]
NEEDED = {"process", "heater"}  # of signals and outputs; all others may be missing on a bench
NOT_NEEDED = ("identity", "dead_man")
# Whoever presses Enter here would take an invented number for his own.
TYPED = {
    *("name", "power", "limit", "isolator", "path", "address", "register", "low", "high"),
    *("write", "then", "drops_after", "holds", "park", "link_loss", "expect", "send", "reply"),
}
GROUPS = ("port", "device", "signal", "output")
NAMED = re.compile(r"\b(?:(?:port|device|signal|output)\.[a-z_0-9]+|dead_man|identity|switching)\b")
LEFT_OUT = "-"
OVER_TWO, ORDER = ("int32", "uint32", "float32"), "word_order"
DEAD_MAN = (
    "Does the board drop its outputs by itself when nobody writes to it (watchdog, time-out, fail-safe)?"
)
IDENTITY = "Does the board's table name a register that always holds one number, by which it can be known?"


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
        self._answered: dict[Path, Any] = {}

    def file(self) -> dict[str, Any]:
        """Ask for everything and return the file as plain data. Raises EOFError where answers end."""
        return {key: made for key, value in self._example.items() if (made := self._part((key,), value))}

    def _part(self, path: Path, value: Any) -> Any:
        if path == ("dead_man",) and not self._yes(f"dead_man: {DEAD_MAN}"):
            return None
        if path == ("identity",):
            return (
                [self._agreeing(path, one) for one in value] if self._yes(f"identity: {IDENTITY}") else None
            )
        return self._value(path, value)

    def _value(self, path: Path, value: Any) -> Any:
        if isinstance(value, dict):
            return self._agreeing(path, value) if self._is_there(path) else None
        if path[-1] == "ask":
            return self._requests(path)
        return self._key(path, value)

    def _agreeing(self, path: Path, values: dict[str, Any]) -> dict[str, Any]:
        """Ask for a table until nothing in it contradicts what was answered before."""
        while True:
            made = self._table(path, dict(values))
            whole = len(path) == (2 if path[0] in GROUPS else 1)
            if not whole or not (why := self._contradiction(path, made)):
                return made
            self._say(f"{why}\nSo {dotted(path)} once more:")

    def _contradiction(self, path: Path, made: dict[str, Any]) -> str:
        """Return what cannot be in this table beside the answers before it, empty where all can."""
        self._answered[path] = made
        try:
            loads(written(self._so_far()), Oven, ConfigError, "oven")
        except ConfigError as e:
            known = {dotted(one) for one in self._answered}
            for line in str(e).splitlines():
                told = set(NAMED.findall(line))
                if dotted(path) in told <= known:
                    return line.removeprefix("oven:").lstrip("0123456789: ")
        return ""

    def _so_far(self) -> dict[str, Any]:
        """Return the answers as a file, with the example where one is needed and not given yet."""
        file = {
            key: deepcopy(one) for key, one in self._example.items() if key not in ("identity", "dead_man")
        }
        for group in ("signal", "output"):
            file[group] = {name: one for name, one in file[group].items() if name in NEEDED}
        for path, made in self._answered.items():
            table = file.setdefault(path[0], {}) if len(path) > 1 else file
            table[path[-1]] = [made] if path == ("identity",) else made
        return file

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
            own = self._yes(f"{dotted(path)}: is this a device of its own?")
            self._missing |= set() if own else {path[1]}
            return own
        return not may_miss or self._yes(self._question(path))

    def _question(self, path: Path) -> str:
        return f"{dotted(path)}: do you have this? {meaning(path)}"

    def _requests(self, path: Path) -> list[dict[str, str]]:
        self._say(f"# {meaning(path)}\n# Which lines are asked for values? An empty one ends the list.")
        found: list[dict[str, str]] = []
        while send := self._ask(f"{dotted(path)}.send: ").strip():
            reply = self._ask(f"{dotted(path)}.reply: ").strip()
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
            typed = self._ask(f"{dotted(path)}{offered}: ").strip()
            if typed == LEFT_OUT:
                return None
            if not typed and offered:
                return value
            try:
                if names and typed not in names:
                    raise ConfigError(f"there is no {typed}; the file has {' and '.join(names)}")
                answer = self._checked(path, _read(typed, value))
                if len(path) == 1:
                    self._answered[path] = answer
                return answer
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
            here = [line for line in str(e).splitlines() if f": {dotted(path)}: " in line]
            if here:
                raise ConfigError(here[0].partition(": ")[2]) from None
        return answer

    def _yes(self, question: str) -> bool:
        while True:
            typed = self._ask(f"{question} [y/n] ").strip().lower()
            if typed in ("y", "n"):
                return typed == "y"
            self._say("type y or n")


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
