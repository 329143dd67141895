"""An oven file written by asking: the keys of an example one by one, each in words and checked at once."""

import re
from collections.abc import Container
from copy import deepcopy
from typing import Any

from kilnctl.cli.oven.oven_file.asking.heater_kinds import KIND
from kilnctl.cli.oven.oven_file.asking.how_it_heats import how_it_heats
from kilnctl.cli.oven.oven_file.asking.key_asking import Ports
from kilnctl.cli.oven.oven_file.asking.ports_here import ports_here
from kilnctl.cli.oven.oven_file.asking.questions import IDENTITY, MORE, NOW_THE_DEAD_MAN, OFF_TOO
from kilnctl.cli.oven.oven_file.asking.table_asking import TableAsker
from kilnctl.cli.oven.oven_file.file_text import Path
from kilnctl.cli.oven.oven_file.more_places import others, place_of
from kilnctl.cli.oven.oven_file.other_kinds import (
    arm_like,
    ask_kind,
    device_like,
    free_port,
    kind_of,
    port_like,
)
from kilnctl.cli.oven.oven_file.templates import Way, meaning
from kilnctl.cli.terminal.by_asking import Ask, Say

NAME = re.compile(r"[a-z][a-z0-9_]{0,23}")


class Asker(TableAsker):
    """Asks for the keys of one example. `taken` are names that another oven has."""

    def __init__(
        self, way: Way, ask: Ask, say: Say, taken: Container[str] = (), ports: Ports = ports_here
    ) -> None:
        super().__init__(way, ask, say, taken, ports)
        self._more_ports: dict[str, Any] = {}

    def file(self) -> dict[str, Any]:
        """Ask for everything and return the file as plain data. Raises EOFError where answers end."""
        file: dict[str, Any] = {}
        for key, value in list(self._example.items()):
            file |= {key: made} if (made := self._part((key,), value)) else {}
            file |= how_it_heats(self._key, self._say, self._example) if key == "build" else {}
        file["port"] |= self._more_ports
        file["output"]["heater"] |= self._watchdog.holds | self._watchdog.mode_read_back(file)
        if file["output"]["heater"].get(KIND) == "pulse":
            self._say(OFF_TOO)
        return file | self._arms(file)

    def _part(self, path: Path, value: Any) -> Any:
        if path == ("dead_man",) and not self._has_dead_man(value):
            return None
        if path == ("identity",):
            asked = self._yes(f"identity: {IDENTITY}")
            return [self._agreeing(path, one) for one in value] if asked else None
        if path == ("dead_man",) and self._watchdog.stands_by:
            kept = {key: one for key, one in value.items() if key != "drops_after"}
            value = kept | {"write": 1, "zero_drops": True, "drops_after": ""}
        value = {**value, "lamp": self._example_of_lamp()} if path == ("output",) else value
        made = self._value(path, value)
        if path[0] == "device" or (path[0] == "port" and self._modbus):
            return made | self._one_more(path[0])
        return made | self._more(path[0]) if path[0] in ("signal", "output") else made

    def _has_dead_man(self, example: dict[str, Any]) -> bool:
        heater = self._answered.get(("output", "heater"), {})
        line = any(kind_of(device) == "line" for device in self._example["device"].values())
        return self._watchdog.has_its_own_place(example, heater, line)

    def _arms(self, file: dict[str, Any]) -> dict[str, Any]:
        device = self._example["output"]["heater"]["device"]
        kind = kind_of(self._example["device"][device])

        def one(before: int) -> dict[str, Any]:
            self._asked -= {path for path in self._asked if path[0] == "arm"}
            self._example["arm"] = [arm_like(device, kind, before)]
            made = self._agreeing(("arm",), dict(self._example["arm"][0]))
            if "dead_man" not in file and self._watchdog.is_mode(made, file["output"]["heater"]):
                self._fed_by_mode(file, made)
                return {}
            return {} if self._off_writes(made) else made

        return {} if kind == "line" else self._watchdog.arms(one)

    def _fed_by_mode(self, file: dict[str, Any], mode: dict[str, Any]) -> None:
        """Take an instrument's mode, named as an arm, for its dead-man, which also shows its stand-by."""
        self._say(NOW_THE_DEAD_MAN)
        heater = file["output"]["heater"]
        held = heater.get("holds") or self._key(("dead_man", "drops_after"), "")
        file["dead_man"] = {**mode, "drops_after": held}
        self._watchdog.stands_by = True
        heater |= {"link_loss": "drops"} | self._watchdog.mode_read_back(file)

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
        self._worded |= {name} if kind != "modbus" else set()
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
