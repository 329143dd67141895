"""Asking for one key of an oven file: in words, with what is offered, until its answer can stand there."""

from collections.abc import Callable, Container
from typing import Any

from kilnctl.cli.oven.oven_file import typed_values
from kilnctl.cli.oven.oven_file.asking.answers_so_far import NEEDED, OFFERED, SHEETS_OWN, TYPED, USUAL
from kilnctl.cli.oven.oven_file.asking.checked_answers import checked
from kilnctl.cli.oven.oven_file.asking.heater_kinds import KIND
from kilnctl.cli.oven.oven_file.asking.ports_here import in_words, ports_here
from kilnctl.cli.oven.oven_file.asking.questions import ANY_BUILD, ANYTHING_ELSE, FUNCTIONS, LAMP
from kilnctl.cli.oven.oven_file.asking.watchdog import said_of_a_time
from kilnctl.cli.oven.oven_file.file_text import LISTS, Path, dotted
from kilnctl.cli.oven.oven_file.more_keys import model_of
from kilnctl.cli.oven.oven_file.more_places import place_of
from kilnctl.cli.oven.oven_file.other_kinds import example_of, kind_of, place_at
from kilnctl.cli.oven.oven_file.register_numbers import FROM_ONE, on_the_wire
from kilnctl.cli.oven.oven_file.templates import Way, half, meaning
from kilnctl.cli.oven.oven_file.typed_values import ordered, read, shown, understood_as
from kilnctl.cli.terminal.by_asking import Ask, Say
from kilnctl.config.oven import Oven
from kilnctl.config.port_path import is_network
from kilnctl.errors import ConfigError

GROUPS = ("port", "device", "signal", "output")
Ports = Callable[[], list[str]]
AS_PRINTED = "type it as the device's list prints it; what that is on the wire is said then"
COUNTED = (
    "its number counted from 0, or as a list prints it with the digit of its table, such as 40011 or 1Fh"
)
LOOK_IT_UP = "it stands in the device's list or on its plate"
EMPTY = '""'
NOT_KNOWN = ("?", "unknown", "dont know", "don't know", "i don't know", "no idea")
LEFT_OUT, NONE, OR_NONE = "-", "none", "; or press Enter where it has none"


def _shown_value(path: Path, value: Any) -> str:
    return typed_values.FUNCTIONS[value] if path[-1] == "multiple" else shown(value)


class KeyAsker:
    """Asks for single keys of the example of a way. `taken` are names that another oven has."""

    def __init__(
        self, way: Way, ask: Ask, say: Say, taken: Container[str] = (), ports: Ports = ports_here
    ) -> None:
        self._example, self._way = example_of(way), way
        kinds = {device.get("kind") for device in self._example["device"].values()}
        self._modbus, self._line_board = kinds == {None}, "line" in kinds
        self._ask, self._say, self._taken, self._ports = ask, say, taken, ports
        self._told: set[Path] = set()
        self._named: set[Path] = set()
        self._missing: set[str] = set()
        self._worded: set[str] = set()  # ports of boards with lines of their own
        self._answered: dict[Path, Any] = {}
        self._asked: set[Path] = set()
        self._made: dict[Path, dict[str, Any]] = {}
        self._from_one: dict[str, bool] = {}
        self._at_device = ""
        self._beside: dict[str, Any] = {}
        self._own: dict[Path, Any] = {}  # what was answered for a table that is asked again

    def _key(self, path: Path, value: Any, may_miss: bool = False) -> Any:
        """Ask for one key until its answer can be what the file allows there; Enter may leave it out."""
        names = self._names(path[-1])
        if path[-1] == "device" and value in self._missing:
            value = names[0]
        if len(names) == 1:
            return names[0]
        may_miss = may_miss or path[-1] in SHEETS_OWN
        self._asked.add(path)
        self._explain(path)
        if path[-1] == "path" and not is_network(value):
            self._say(in_words(self._ports()))
        offered = self._offered(path, value, may_miss)
        while True:
            typed = self._ask(f"{dotted(path)}{offered}: ").strip()
            if typed == LEFT_OUT and (may_miss or not self._is_needed(path)):
                return None
            if not typed and path in self._own:
                return self._own[path]
            if may_miss and (typed in ("", NONE) or typed.lower() in NOT_KNOWN):
                return None
            if path == ("build",) and typed.lower() in NOT_KNOWN:
                self._say(f"# {ANY_BUILD}")
                typed = "unknown"
            if not typed and offered:
                return value
            try:
                if names and typed not in (*names, LEFT_OUT):
                    raise ConfigError(f"there is no {typed}; the file has {' and '.join(names)}")
                return self._understood(path, typed, value)
            except ConfigError as e:
                self._say(f"{e}{OR_NONE if may_miss else ''}")

    def _understood(self, path: Path, typed: str, value: Any) -> Any:
        """Return what was typed as the file has it, and say what it means. Raises ConfigError."""
        if typed == "?":
            raise ConfigError(f"{path[-1]}: {self._meaning(path) or LOOK_IT_UP}")
        if typed == LEFT_OUT:
            raise ConfigError(f"{path[-1]} cannot be left out: no heat is safe without it, or no file whole")
        read_so = self._read(path, typed, value)
        answer = "" if typed == EMPTY else self._checked(path, read_so)
        timer = self._made.get(path[:-1], {}).get("then") is not None
        for line in (*said_of_a_time(path[-1], answer, timer), *understood_as(path[-1], answer)):
            self._say(line)
        if len(path) == 1:
            self._answered[path] = answer
        return answer

    def _offered(self, path: Path, value: Any, may_miss: bool) -> str:
        """Return what Enter takes, in brackets: an earlier answer, else the example where it may stand."""
        if path in self._own:
            return f" [{_shown_value(path, self._own[path])}]"
        usual = self._line_board or path[:2] == ("signal", "second") or value == USUAL.get(path[-1], value)
        if may_miss:
            return f" [{NONE}]"
        typed = path[-1] in TYPED and path not in OFFERED
        return "" if typed or value == "" or not usual else f" [{_shown_value(path, value)}]"

    def _is_needed(self, path: Path) -> bool:
        """True for a key that the file is refused without."""
        if len(path) > 1 and path[0] not in (*GROUPS, *LISTS, "dead_man"):
            return False  # of the oven itself: each says at the end what it wants
        device = self._example["device"].get(path[1], {}) if path[0] == "device" else {}
        model = Oven if len(path) == 1 else model_of(path[:-1], kind_of(device))
        fields = {field.alias or name: field for name, field in model.model_fields.items()}
        return path[-1] in fields and fields[path[-1]].is_required()

    def _checked(self, path: Path, answer: Any) -> Any:
        return checked(self._example, path, answer, self._taken, self._made)

    def _explain(self, path: Path) -> None:
        """Say once what a key means."""
        words = self._meaning(path)
        if words and (path[0], path[-1]) not in self._told:
            self._told.add((path[0], path[-1]))
            self._say(f"# {path[-1]}: {words}")

    def _meaning(self, path: Path) -> str:
        if path[-1] == "register":
            return AS_PRINTED if self._from_one.get(self._at_device) else COUNTED
        return FUNCTIONS if path[-1] == "multiple" else meaning(path, self._way.topic)

    def _name_each(self, path: Path, keys: list[str]) -> None:
        """Name the keys that nobody was asked for, each with half a sentence the first time."""
        lines = [f"# {ANYTHING_ELSE}"]
        for key in keys:
            words = half(meaning((*path, key), self._way.topic))
            new = words and (path[0], key) not in self._named
            self._named.add((path[0], key))
            lines.append(f"#   {key}: {words}" if new else f"#   {key}")
        self._say("\n".join(lines))

    def _read(self, path: Path, typed: str, value: Any) -> Any:
        """Return what was typed; of a register the number on the wire."""
        if path[-1] == "word_order" and (order := ordered(typed)):
            self._beside = {key: one for key, one in order.items() if key != "word_order"}
            return order["word_order"]
        if path[-1] != "register":
            return read(typed, value, path[-1])
        wire = on_the_wire(typed, self._from_one.get(self._at_device, False))
        self._beside = {"table": wire.table} if wire.table else {}
        if wire.note:
            self._say(wire.note)
        return read(wire.register, value)

    def _told_beside(self) -> dict[str, Any]:
        """Return, once, the keys that an answer has told beside its own: a table, the order of bytes."""
        told, self._beside = self._beside, {}
        return told

    def _counts(self, path: Path) -> None:
        """Ask once how a device's list counts its registers."""
        if path[1] not in self._from_one:
            self._from_one[path[1]] = self._yes(f"{dotted(path)}.register: {FROM_ONE}")

    def _is_there(self, path: Path) -> bool:
        """Ask whether the bench has what only some have: signals, outputs, a second device."""
        may_miss = path[0] in ("signal", "output") and len(path) > 1 and path[-1] not in NEEDED
        if path[0] == "device" and len(path) == 2 and path[1] != next(iter(self._example["device"])):
            own = self._yes(f"{dotted(path)}: is there a second device, with an address of its own?")
            self._missing |= set() if own else {path[1]}
            return own
        words = LAMP if path == ("output", "lamp") else f"do you have this? {meaning(path, self._way.topic)}"
        return not may_miss or self._yes(f"{dotted(path)}: {words}")

    def _example_of_lamp(self) -> dict[str, Any]:
        return self._example["output"].get("lamp") or place_of("output", "lamp", self._example)

    def _names(self, key: str) -> list[str]:
        """Return the ports or devices that a key may name, nothing for any other key."""
        if key not in ("port", "device"):
            return []
        return [name for name in self._example[key] if name not in self._missing]

    def _yes(self, question: str) -> bool:
        while True:
            typed = self._ask(f"{question} [y/n] ").strip().lower()
            if typed in ("y", "n"):
                return typed == "y"
            self._say("type y or n")

    def _is_left(self, path: Path, key: str, made: dict[str, Any]) -> bool:
        """True for a key that nobody was asked for yet; what sort of heater it is may be said at any time."""
        return key == KIND or (key not in made and (*path, key) not in self._asked)

    def _off_writes(self, arm: dict[str, Any]) -> bool:
        """True for a latch that the heater's own off clears: it is written before every heat."""
        heater = self._answered.get(("output", "heater"), {})
        place = ("device", "table", "register")
        same = "register" in arm and all(arm.get(key) == heater.get(key) for key in place)
        return same and arm.get("write") == heater.get("off", 0)

    def _at_back(self, arm: dict[str, Any]) -> bool:
        """True for an arm at the place that reads whether an instrument runs, where no dead-man is named."""
        back = self._answered.get(("output", "heater"), {}).get("back", {})
        same = all(arm.get(key) == back.get(key) for key in ("device", "table", "register"))
        return "register" in arm and same and ("dead_man",) not in self._answered

    def _place_of(self, path: Path) -> dict[str, Any]:
        """Return the table of the example itself, to be added to."""
        table: Any = self._example
        for key in path:
            table = table[key][0] if key in LISTS else table[key]
        found: dict[str, Any] = table[0] if isinstance(table, list) else table
        return found

    def _place(self, path: Path) -> dict[str, Any]:
        """Return the example of a table of the file, as far as it was answered."""
        table: Any = self._example
        for key in path:
            table = table[key]
        return dict(table[0] if path[0] in LISTS else table)

    def _placed(self, path: Path, values: dict[str, Any], device: str) -> dict[str, Any]:
        """Return what is asked of a place, in the words of the device that has it."""
        kind = kind_of(self._example["device"][device])
        if kind != kind_of(self._example["device"][values["device"]]):
            values = place_at(path, values, device, kind)
        table: Any = self._example
        for key in path[:-1]:
            table = table[key]
        table[path[-1]] = [values] if path[0] in LISTS else {**values, "device": device}
        return values

    def _has_registers(self, path: Path, made: dict[str, Any]) -> bool:
        """True where a table stands at a Modbus device, or is a port of the way's own kind, a Modbus one."""
        if "device" in made:
            return kind_of(self._example["device"][made["device"]]) == "modbus"
        return self._modbus and path[-1] not in self._worded
