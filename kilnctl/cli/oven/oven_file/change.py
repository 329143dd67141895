"""The command that asks again for one answer of an oven file: oven change."""

import tomllib
from pathlib import Path
from typing import Any

from kilnctl.cli.oven.changed_oven import mistakes, put_in_place, told
from kilnctl.cli.oven.oven_file.asking.text_language import line_as_sent
from kilnctl.cli.oven.oven_file.file_text import LISTS, written
from kilnctl.cli.oven.oven_file.known_keys import no_such_key
from kilnctl.cli.oven.oven_file.more_keys import LIKE, PLACES, like
from kilnctl.cli.oven.oven_file.more_places import others, place_of
from kilnctl.cli.oven.oven_file.moved_arm import moved
from kilnctl.cli.oven.oven_file.one_more_device import at_a_device
from kilnctl.cli.oven.oven_file.other_kinds import arm_like, kind_of
from kilnctl.cli.oven.oven_file.register_numbers import OnTheWire, on_the_wire
from kilnctl.cli.oven.oven_file.templates import meaning
from kilnctl.cli.oven.oven_file.typed_values import read, shown
from kilnctl.cli.terminal.by_asking import Ask, Say, stoppable
from kilnctl.cli.terminal.tell import tell
from kilnctl.commissioning.wizard_lock import busy
from kilnctl.config import home
from kilnctl.config.changed_file import (
    Key,
    dotted,
    is_table,
    keys_below,
    typed_key,
    value_at,
    with_key,
    with_table,
    without_table,
)
from kilnctl.errors import ConfigError, RunRefused
from kilnctl.marks import running_ovens

WHICH = "Which key? As `kilnctl oven show` has it, like output.lamp.register; Enter writes the file: "
ALSO = "Something else goes with it. Which key? (q: nothing is written) "
ITS_NAME = (
    "name: what was set up, learned and recorded goes by it, another name is another oven: copy the file, "
    "and change the name in the copy with an editor"
)
WIRE = (
    "# It is on the wire {0}, which a list that counts from 1 prints as {1}; a list's own 40011 may be typed."
)
UNDERSTOOD = "# understood: {0} on the wire, which a list that counts from 1 prints as {1}"
TAKEN_OUT = "-"
NONE = "the file has none"


def change(oven: str, key: str | None = None, /) -> int:
    """Ask again for one answer of an oven file. All else stays as it stands, your comments too.

    Enter keeps what is in brackets, - takes the key or the table out, q stops. The file as it was is kept
    beside it, and what the set-up proved of the old wiring is named: it is to be done again.

    Parameters
    ----------
    oven
        An oven file or name.
    key
        The key as the file has it, like output.lamp.register or dead_man.drops_after, for the second of some
        arm.2.write; left out, keys are asked for.
    """
    path = home.find(oven, "ovens", ConfigError).resolve()
    before = _text(path)
    _refuse(path, tomllib.loads(before))
    try:
        after = _changed(before, path.name, key, stoppable(input), print)
    except EOFError:
        raise ConfigError("stopped; nothing was written") from None
    if after == before:
        print("Nothing was changed.")
        return 0
    kept = put_in_place(path, after)
    for line in told(path, oven, before, after, kept):
        tell(line)
    return 0


def _text(path: Path) -> str:
    try:
        text = path.read_bytes().decode("utf-8-sig").replace("\r\n", "\n")
        tomllib.loads(text)
    except (OSError, ValueError) as e:
        raise ConfigError(f"{path}: cannot be read ({e}); mend that with an editor first") from None
    return text


def _refuse(path: Path, data: dict[str, Any]) -> None:
    name = str(data.get("name", ""))
    if path.is_relative_to(home.bundled("ovens").resolve()):
        raise ConfigError(f"{path.name} is bundled and stays as it is; `kilnctl oven new` writes your own")
    if name in {mark.name for mark in running_ovens.marked()}:
        why = "a heat of it is on, or was not read back as off"
        raise RunRefused(f"{name}: {why}; `kilnctl off --oven {name}` first, then change the file")
    if name and busy(name):
        raise RunRefused(f"{name} is being set up at another terminal; end that first")


# --- asking ---


def _changed(text: str, file: str, key: str | None, ask: Ask, say: Say) -> str:
    """Ask for keys until the file has no mistake; where one is named, for it and what goes with it."""
    typed = ask(WHICH).strip() if key is None else key
    while typed or mistakes(text, file):
        try:
            text = _asked(text, file, typed, ask, say) if typed else text
            text = moved(text, lambda made: mistakes(made, file), ask, say) if typed else text
        except ConfigError as e:
            if typed == key:
                raise
            say(str(e))
        if wrong := mistakes(text, file):
            say("\n".join(wrong))
            typed = ask(ALSO).strip()
        else:
            typed = "" if key is not None else ask(WHICH).strip()
    return text


def _asked(text: str, file: str, typed: str, ask: Ask, say: Say) -> str:
    """Return the text with another answer for one key. Raises ConfigError for a key that cannot be."""
    data = tomllib.loads(text)
    key = _key(data, typed)
    if key == ("name",):
        raise ConfigError(ITS_NAME)
    now = value_at(data, key)
    if now is None and (table := _like_a_table(data, key)):
        return _with_a_table(text, file, key, table, ask, say)
    _known(text, file, key, data)
    if is_table(now):
        return _of_a_table(text, file, key, now, ask, say)
    return _one(text, file, key, LIKE.get(str(key[-1]), "") if now is None else now, ask, say)


def _of_a_table(text: str, file: str, key: Key, table: Any, ask: Ask, say: Say) -> str:
    """Ask which key of a table is meant, or whether all of it goes."""
    say(f"{dotted(key)} has {', '.join(keys_below(table, key))}")
    while typed := ask(f"{dotted(key)}: which of them? - takes all of it out, Enter leaves it: ").strip():
        if typed == TAKEN_OUT:
            return without_table(text, key)
        try:
            whole = typed if typed.startswith(dotted(key)) else f"{dotted(key)}.{typed}"
            return _asked(text, file, whole, ask, say)
        except ConfigError as e:
            say(str(e))
    return text


def _one(text: str, file: str, key: Key, like: Any, ask: Ask, say: Say) -> str:
    """Ask for a single value until it can stand there."""
    now = value_at(tomllib.loads(text), key)
    _explain(key, now, say)
    while True:
        typed = ask(f"{dotted(key)} [{NONE if now is None else _shown(key, now)}]: ").strip()
        if not typed or (typed == TAKEN_OUT and now is None):
            return text
        try:
            made = _answered(text, key, typed, like, say)
            if wrong := _at(key, mistakes(made, file)):
                raise ConfigError(wrong)
            return made
        except ConfigError as e:
            say(str(e))


def _answered(text: str, key: Key, typed: str, like: Any, say: Say) -> str:
    if typed == TAKEN_OUT:
        return with_key(text, key, None)
    if key[-1] == "register":
        wire = _on_the_wire(typed, say)
        text = with_key(text, (*key[:-1], "table"), wire.table) if wire.table else text
        typed = wire.register
    return with_key(text, key, _value(key, typed, like))


def _value(key: Key, typed: str, like: Any) -> Any:
    """Return what was typed, as what stood there before; else as TOML, which the file judges."""
    if key[0] == "device" and key[-1] in ("send", "reply"):
        return line_as_sent(typed, key[-1] == "reply")
    try:
        return read(typed, like, str(key[-1]))
    except ConfigError:
        try:
            return tomllib.loads(f"value = {typed}")["value"]
        except ValueError:
            pass
        raise


def _with_a_table(text: str, file: str, key: Key, begun: dict[str, Any], ask: Ask, say: Say) -> str:
    """Ask for the keys of a table that the file does not have, begun from one like it."""
    told = key[0] in ("signal", "output") and len(key) == len(("output", "lamp"))
    if told:
        text, begun = at_a_device(text, key, begun, ask)
    told = told or len(tomllib.loads(text)["device"]) == 1
    made = dict(begun)
    for name, one in begun.items():
        if name == "device" and told:
            continue
        _explain((*key, name), None, say)
        while True:
            if not (typed := ask(f"{dotted((*key, name))}, like {shown(one)}: ").strip()):
                say("this one is needed; q stops")
                continue
            try:
                made = _told_of_it(made, (*key, name), typed, one, say)
                wrong = _at((*key, name), mistakes(_appended(text, key, made), file))
            except ConfigError as e:
                wrong = str(e)
            if not wrong:
                break
            say(wrong)
    return _appended(text, key, made)


def _told_of_it(made: dict[str, Any], key: Key, typed: str, like: Any, say: Say) -> dict[str, Any]:
    """Return a table with what was typed for one of its keys, and the table of registers that told."""
    if key[-1] != "register":
        return made | {str(key[-1]): _value(key, typed, like)}
    wire = on_the_wire(typed, from_one=False)
    say(wire.note) if wire.note else None
    return (
        made | ({"table": wire.table} if wire.table else {}) | {"register": _value(key, wire.register, like)}
    )


def _on_the_wire(typed: str, say: Say) -> OnTheWire:
    """Return the register that is typed, and say which it is: the file does not know how a list counts."""
    wire = on_the_wire(typed, from_one=False)
    if wire.note or wire.register.isdecimal():
        say(wire.note or UNDERSTOOD.format(wire.register, int(wire.register) + 1))
    return wire


def _appended(text: str, key: Key, table: dict[str, Any]) -> str:
    if key[-1] in PLACES:
        return with_key(text, key, table)
    nested = [table] if key[0] in LISTS else {str(key[1]): table} if len(key) > 1 else table
    return with_table(text, key, written({str(key[0]): nested}), table)


def _explain(key: Key, now: Any, say: Say) -> None:
    if words := meaning(tuple(part for part in key if isinstance(part, str)), ""):
        say(f"# {key[-1]}: {words}")
    if key[-1] == "register" and isinstance(now, int):
        say(WIRE.format(now, now + 1))


def _shown(key: Key, now: Any) -> str:
    return shown(now).replace("\n", "\\n")


# --- keys ---


def _key(data: dict[str, Any], typed: str) -> Key:
    """Return the key that is typed; of arms and identities the only one, or a new one."""
    key = typed_key(data, typed)
    if len(key) == 1 and key[0] in LISTS:
        there = len(data.get(key[0], ()))
        return (*key, 0 if there == 1 else there)
    return key


def _like_a_table(data: dict[str, Any], key: Key) -> dict[str, Any] | None:
    """Return what a table of this name begins from where the file may have one and has none."""
    heater = data.get("output", {}).get("heater", {})
    device = str(heater.get("device", ""))
    kind = kind_of(data.get("device", {}).get(device, {}))
    match key:
        case ("signal" | "output" as group, str(name)) if name in others(group, data):
            return place_of(group, name, data)
        case ("arm", int(before)):
            return arm_like(device, kind, before)
        case (*above, str(name)) if name in PLACES and (place := value_at(data, tuple(above))):
            return dict(like(tuple(one for one in above if isinstance(one, str)), name, place))
        case ("dead_man",):
            place = {k: one for k, one in arm_like(device, kind, 0).items() if k != "write"}
            return {**place, "write": 1, "drops_after": "5 s"}
    return None


def _known(text: str, file: str, key: Key, data: dict[str, Any]) -> None:
    """Raise ConfigError, with the nearest ones, for a key that no file has."""
    if value_at(data, key) is not None:
        return
    parent = value_at(data, key[:-1]) if key[:-1] else data
    named = key[:-1] in (("signal",), ("output",))  # what it may have there is a table that was looked for
    if named or not isinstance(parent, dict) or _is_unknown(text, file, key):
        raise ConfigError(no_such_key(data, key))


def _is_unknown(text: str, file: str, key: Key) -> bool:
    """Return whether no file may have a key there."""
    return "unknown key" in _at(key, mistakes(with_key(text, key, "?"), file))


def _at(key: Key, lines: list[str]) -> str:
    """Return the mistakes that are this key's own."""
    named = "".join(f"[{part + 1}]" if isinstance(part, int) else f".{part}" for part in key).removeprefix(
        "."
    )
    return "\n".join(line for line in lines if f": {named}: " in line)
