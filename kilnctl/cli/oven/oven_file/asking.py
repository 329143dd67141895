"""An oven file written by asking: the keys of an example one by one, each in words and checked at once."""

import re
from collections.abc import Callable, Container
from copy import deepcopy
from typing import Any

from kilnctl.cli.oven.oven_file import text_language
from kilnctl.cli.oven.oven_file.answers_so_far import NEEDED, TYPED, YOUR_OWN, so_far
from kilnctl.cli.oven.oven_file.file_text import LISTS, Path, dotted, written
from kilnctl.cli.oven.oven_file.follow_ups import AT_THE_END, FollowUp, follow_ups, of_the_format
from kilnctl.cli.oven.oven_file.more_places import like_the_first, others, place_of
from kilnctl.cli.oven.oven_file.other_kinds import (
    arm_like,
    ask_kind,
    device_like,
    example_of,
    free_port,
    kind_of,
    place_at,
    port_like,
)
from kilnctl.cli.oven.oven_file.ports_here import in_words, ports_here
from kilnctl.cli.oven.oven_file.questions import DECIMALS, EXPONENT, IDENTITY, MORE, POWER
from kilnctl.cli.oven.oven_file.templates import Way, meaning
from kilnctl.cli.oven.oven_file.typed_values import read, shown
from kilnctl.cli.oven.oven_file.watchdog import Watchdog
from kilnctl.cli.terminal.by_asking import Ask, Say
from kilnctl.config.oven import Oven
from kilnctl.config.port_path import is_network
from kilnctl.errors import ConfigError
from kilnctl.tomlfile import loads

Ports = Callable[[], list[str]]
GROUPS = ("port", "device", "signal", "output")
NAMED = re.compile(r"\b(?:(?:port|device|signal|output)\.[a-z_0-9]+|dead_man|identity|switching)\b")
LEFT_OUT, NONE, OR_NONE = "-", "none", "; or press Enter where it has none"
SERIAL, LANGUAGE = ("baud", "parity", "stop_bits"), ("words", "ask", "tell")
NAME = re.compile(r"[a-z][a-z0-9_]{0,23}")


class Asker:
    """Asks for the keys of one example. `taken` are names that another oven has."""

    def __init__(
        self, way: Way, ask: Ask, say: Say, taken: Container[str] = (), ports: Ports = ports_here
    ) -> None:
        self._example, self._way = example_of(way), way
        self._ask, self._say, self._taken, self._ports = ask, say, taken, ports
        self._modbus = not any("kind" in device for device in self._example["device"].values())
        self._languages = text_language.Languages(ask, say)
        self._more_ports: dict[str, Any] = {}
        self._fed_by_one_line = False
        self._watchdog = Watchdog(self._yes, self._key)
        self._told: set[Path] = set()
        self._missing: set[str] = set()
        self._answered: dict[Path, Any] = {}

    def file(self) -> dict[str, Any]:
        """Ask for everything and return the file as plain data. Raises EOFError where answers end."""
        example = list(self._example.items())
        file = {key: made for key, value in example if (made := self._part((key,), value))}
        file["port"] |= self._more_ports
        file["output"]["heater"] |= self._watchdog.holds | self._watchdog.mode_read_back(file)
        return file | self._arms()

    def _part(self, path: Path, value: Any) -> Any:
        if path == ("dead_man",) and not self._has_dead_man(value):
            return None
        if path == ("identity",):
            return (
                [self._agreeing(path, one) for one in value] if self._yes(f"identity: {IDENTITY}") else None
            )
        made = self._value(path, value)
        if path[0] == "device" or (path[0] == "port" and self._modbus):
            return made | self._one_more(path[0])
        return made | self._more(path[0]) if path[0] in ("signal", "output") else made

    def _has_dead_man(self, example: dict[str, Any]) -> bool:
        heater = self._answered.get(("output", "heater"), {})
        line = any(kind_of(device) == "line" for device in self._example["device"].values())
        return self._watchdog.has_its_own_place(example, heater, line)

    def _arms(self) -> dict[str, Any]:
        device = self._example["output"]["heater"]["device"]
        kind = kind_of(self._example["device"][device])

        def one(before: int) -> dict[str, Any]:
            self._example["arm"] = [arm_like(device, kind, before)]
            return self._agreeing(("arm",), dict(self._example["arm"][0]))

        return {} if kind == "line" else self._watchdog.arms(one)

    def _power(self, made: dict[str, Any]) -> dict[str, Any]:
        """Ask whether a heater takes a power; of a text board first which number is full heat."""
        full = made.get("on", 1)
        if self._languages.numbers(made.get("device", ""), str(made.get("field", ""))):
            self._say(POWER)
            full = self._key(("output", "heater", "on"), 1)
        return self._watchdog.power(made, full)

    def _one_more(self, group: str) -> dict[str, Any]:
        """Ask for ports or devices beside those of the example; each is asked for like the first."""
        made: dict[str, Any] = {}
        self._say(f"# {MORE[group]}")
        while name := self._ask(f"{group}: ").strip():
            if not NAME.fullmatch(name) or (name in self._example[group] and name not in self._missing):
                self._say("a new name of small letters, digits and _, or Enter")
                continue
            self._missing.discard(name)
            like = deepcopy(next(iter(self._example[group].values())))
            kind = ask_kind(name, self._ask, self._say) if group == "device" else ""
            if group == "device" and (kind != kind_of(like) or kind != "modbus"):  # only Modbus shares a line
                like = device_like(kind, self._port_for(name, kind, made))
            self._example[group][name] = like
            made[name] = self._agreeing((group, name), like)
        return made

    def _port_for(self, name: str, kind: str, made: dict[str, Any]) -> str:
        """Return a port that such a device can be on: one that none has yet, or a new one, asked for here."""
        devices = [*self._example["device"].values(), *made.values()]
        ports = [port for port in self._example["port"] if port not in self._missing]
        if free := free_port(ports, devices, kind):
            return free
        self._example["port"][name] = port_like(kind)
        asked = self._example["port"][name] | ({"parity": "none"} if kind == "modbus" else {})
        self._more_ports[name] = self._agreeing(("port", name), asked)
        return name

    def _more(self, group: str) -> dict[str, Any]:
        """Ask for what the bench has beside what its example has."""
        made: dict[str, Any] = {}
        while names := [name for name in others(group, self._example) if name not in made]:
            if not made:
                told = [f"#   {name}: {meaning((group, name), '')}" for name in names]
                self._say("\n".join([f"# {MORE[group]}", *told]))
            if not (name := self._ask(f"{group}: ").strip()):
                break
            if name not in names:
                self._say(f"there is no {name}; choose one of {', '.join(names)}")
                continue
            self._example[group][name] = place_of(group, name, self._example)
            made[name] = self._agreeing(
                (group, name), self._nearest((group, name), self._example[group][name])
            )
        return made

    def _value(self, path: Path, value: Any) -> Any:
        if isinstance(value, dict):
            return self._agreeing(path, self._nearest(path, value)) if self._is_there(path) else None
        if path[-1] == "kind" and path[0] != "switching":
            return value  # the way of connecting says it
        if path[-1] == "field":
            return self._field(path, value)
        if path in (("dead_man", "write"), ("arm", "write")) and self._fed_by_one_line:
            return 1
        return self._key(path, value)

    def _nearest(self, path: Path, example: dict[str, Any]) -> dict[str, Any]:
        """Return the example of a table, the second sensor's after what was answered for the first."""
        first = self._answered.get(("signal", "process"))
        if path != ("signal", "second") or not first:
            return example
        self._example["signal"]["second"] = made = like_the_first(first, example)
        return made

    def _agreeing(self, path: Path, values: dict[str, Any]) -> dict[str, Any]:
        """Ask for a table until nothing in it contradicts what was answered before."""
        while True:
            made = self._table(path, dict(values))
            whole = len(path) == (2 if path[0] in GROUPS else 1)
            if not whole or not (why := self._contradiction(path, made)):
                return made
            self._say(f"{why}\nSo {dotted(path)} again:")

    def _contradiction(self, path: Path, made: dict[str, Any]) -> str:
        """Return what cannot be in this table beside the answers before it, empty where all can."""
        self._answered[path] = made
        try:
            loads(written(so_far(self._example, self._answered)), Oven, ConfigError, "oven")
        except ConfigError as e:
            known = {dotted(one) for one in self._answered}
            for line in str(e).splitlines():
                told = set(NAMED.findall(line))
                if dotted(path) in told <= known:
                    return line.removeprefix("oven:").lstrip("0123456789: ")
        return ""

    def _table(self, path: Path, values: dict[str, Any]) -> dict[str, Any]:
        made: dict[str, Any] = {"kind": values["kind"]} if "kind" in values and path != ("switching",) else {}
        speaks = values.get("kind") == "text"
        if "device" in values and path[0] != "device":
            made["device"] = self._value((*path, "device"), values["device"]) or values["device"]
            values = self._placed(path, values, made["device"])
        for key, one in values.items():
            if key in made or not of_the_format(key, values, made):
                continue
            if speaks and key in LANGUAGE:
                continue
            if key in SERIAL and is_network(str(made.get("path", ""))):
                continue
            if (answer := self._value((*path, key), one)) is not None:
                made[key] = answer
            self._follow(path, key, made, values)
        self._follow(path, AT_THE_END, made, values)
        made |= self._power(made) if path == ("output", "heater") else {}
        return made | (self._languages.ask_for(path[-1]) if speaks else self._languages.read_back(made))

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

    def _place(self, path: Path) -> dict[str, Any]:
        """Return the example of a table of the file, as far as it was answered."""
        table: Any = self._example
        for key in path:
            table = table[key]
        return dict(table[0] if path[0] in LISTS else table)

    def _has_registers(self, path: Path, made: dict[str, Any]) -> bool:
        """True where a table stands at a Modbus device, or is a port of the way's own kind, a Modbus one."""
        if "device" in made:
            return kind_of(self._example["device"][made["device"]]) == "modbus"
        return self._modbus

    def _follow(self, path: Path, key: str, made: dict[str, Any], values: dict[str, Any]) -> None:
        """Ask for what comes after a key though the example lacks it; what need not be written is not."""
        for more in follow_ups(path, key, made, self._has_registers(path, made)):
            if more.key in made or (more.key in values and of_the_format(more.key, values, made)):
                continue
            answer = self._followed(path, more)
            if answer not in (more.unwritten, None):
                made[more.key] = answer
                self._follow(path, more.key, made, values)

    def _followed(self, path: Path, more: FollowUp) -> Any:
        if not isinstance(more.example, dict):
            return self._key((*path, more.key), more.example, more.may_miss)
        if not self._yes(f"{dotted((*path, more.key))}: {EXPONENT}"):
            return None
        place = self._example[path[0]][path[1]]
        place[more.key] = dict(more.example)
        asked = {key: one for key, one in more.example.items() if key != "device"}
        made = {"device": more.example["device"], **self._table((*path, more.key), asked)}
        decimals = self._yes(f"{dotted((*path, more.key, 'scale'))}: {DECIMALS}")
        return {**made, "scale": -1} if decimals else made

    def _field(self, path: Path, value: str) -> str:
        """Ask for the name of a value; where it is set and nobody has said how, ask that too."""
        device = self._place(path[:-1])["device"]
        if device not in self._languages:
            return str(self._key(path, value))
        names, written = self._languages.names(device), path[0] in ("output", "dead_man", "arm")
        while True:
            name = self._key(path, value if written or value in names else "")
            if name and (written or name in names):
                break
            self._say(f"the answers have {', '.join(names)}")
        if written and not self._languages.tells(device, name):
            name, counts = self._languages.ask_told(device, name)
            self._fed_by_one_line = path[0] in ("dead_man", "arm") and not counts
        return str(name)

    def _is_there(self, path: Path) -> bool:
        """Ask whether the bench has what only some have: signals, outputs, a second device."""
        may_miss = path[0] in ("signal", "output") and len(path) > 1 and path[-1] not in NEEDED
        more = path[0] == "device" and len(path) == 2 and path[1] != next(iter(self._example["device"]))
        if more:
            own = self._yes(f"{dotted(path)}: is there a second device, with an address of its own?")
            self._missing |= set() if own else {path[1]}
            return own
        return not may_miss or self._yes(self._question(path))

    def _question(self, path: Path) -> str:
        return f"{dotted(path)}: do you have this? {meaning(path, self._way.topic)}"

    def _key(self, path: Path, value: Any, may_miss: bool = False) -> Any:
        """Ask for one key until its answer can be what the file allows there; Enter may leave it out."""
        names = self._names(path[-1])
        if path[-1] == "device" and value in self._missing:
            value = names[0]
        if len(names) == 1:
            return names[0]
        words = meaning(path, self._way.topic)
        if words and (path[0], path[-1]) not in self._told:
            self._told.add((path[0], path[-1]))
            self._say(f"# {path[-1]}: {words}")
        if path[-1] == "path" and not is_network(value):
            self._say(in_words(self._ports()))
        offered = "" if path[-1] in TYPED or value == "" else f" [{NONE if may_miss else shown(value)}]"
        while True:
            typed = self._ask(f"{dotted(path)}{offered}: ").strip()
            if typed == LEFT_OUT:
                return None
            if may_miss and typed in ("", NONE):
                return None
            if not typed and offered:
                return value
            try:
                if names and typed not in names:
                    raise ConfigError(f"there is no {typed}; the file has {' and '.join(names)}")
                answer = self._checked(path, read(typed, value))
                if len(path) == 1:
                    self._answered[path] = answer
                return answer
            except ConfigError as e:
                self._say(f"{e}{OR_NONE if may_miss else ''}")

    def _names(self, key: str) -> list[str]:
        """Return the ports or devices that a key may name, nothing for any other key."""
        if key not in ("port", "device"):
            return []
        return [name for name in self._example[key] if name not in self._missing]

    def _checked(self, path: Path, answer: Any) -> Any:
        """Return the answer if the example with it is a file that has no mistake at this key."""
        if answer == "":
            where = "" if path[-1] in YOUR_OWN else ": look in the device's table or on its plate"
            raise ConfigError(f"this one has no default{where}")
        port, first = next(iter(self._example["port"].items()))
        if path == ("port", port, "path") and is_network(str(first["path"])) and not is_network(answer):
            raise ConfigError(f'a network address begins with tcp:// or socket://: "tcp://{answer}"')
        if path == ("name",) and answer in self._taken:
            raise ConfigError(f"there is an oven {answer} already; take another name, or q and edit its file")
        tried = deepcopy(self._example)
        table: Any = tried
        for key in path[:-1]:
            table = table[key][0] if key in LISTS else table[key]
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
