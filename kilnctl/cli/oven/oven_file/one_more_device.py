"""One more device for a finished file, by asking: a lamp's board, where the first one has no output left."""

import tomllib
from typing import Any

from kilnctl.cli.oven.oven_file.file_text import written
from kilnctl.cli.oven.oven_file.other_kinds import kind_of, place_at
from kilnctl.cli.oven.oven_file.typed_values import read
from kilnctl.cli.terminal.by_asking import Ask
from kilnctl.config.changed_file import Key, with_table
from kilnctl.config.port_path import is_network
from kilnctl.errors import ConfigError

WHICH = "{}.device, one of {}, or a new name for one more Modbus board [{}]: "
PORT = "device.{}.port, one of {}, or a new name for one more adapter or address: "
PATH = "port.{}.path, like /dev/serial/by-id/usb-... or tcp://192.168.1.20: "
ADDRESS = "device.{}.address, like 1: "
LINE = (("baud", 9600), ("parity", "none"))


def at_a_device(text: str, key: Key, begun: dict[str, Any], ask: Ask) -> tuple[str, dict[str, Any]]:
    """Ask which device has a place; return the text, with a new device if it is one, and the place begun.

    Raises ConfigError for a name that cannot be.
    """
    devices: dict[str, Any] = tomllib.loads(text)["device"]
    first = str(begun.get("device", next(iter(devices))))
    name = ask(WHICH.format(".".join(map(str, key)), ", ".join(devices), first)).strip() or first
    if name not in devices:
        text = _with_a_device(text, name, ask)
    kind, usual = kind_of(devices.get(name, {})), kind_of(devices[first])
    if kind == usual:
        return text, {**begun, "device": name}
    return text, place_at(tuple(str(part) for part in key), begun, name, kind)


def _with_a_device(text: str, name: str, ask: Ask) -> str:
    data = tomllib.loads(text)
    shared = [port for port in data["port"] if _all_modbus(port, data)]
    port = ask(PORT.format(name, ", ".join(shared) or "none that it can share")).strip()
    if port in data["port"] and port not in shared:
        raise ConfigError(f"{port} has a board with lines of its own, which shares its line with none")
    if port not in data["port"]:
        text = _appended(text, ("port", port), _port(port, ask))
    device = {"port": port, "address": read(ask(ADDRESS.format(name)).strip(), 1)}
    return _appended(text, ("device", name), device)


def _all_modbus(port: str, data: dict[str, Any]) -> bool:
    return all(kind_of(one) == "modbus" for one in data["device"].values() if one.get("port") == port)


def _port(name: str, ask: Ask) -> dict[str, Any]:
    path = ask(PATH.format(name)).strip()
    asked = () if is_network(path) else LINE
    told = {key: ask(f"port.{name}.{key} [{usual}]: ").strip() for key, usual in asked}
    return {"path": path} | {
        key: read(said, 1) if said.isdecimal() else said for key, said in told.items() if said
    }


def _appended(text: str, key: Key, table: dict[str, Any]) -> str:
    return with_table(text, key, written({str(key[0]): {str(key[1]): table}}), table)
