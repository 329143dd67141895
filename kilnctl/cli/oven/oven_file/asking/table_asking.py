"""Asking for one table of an oven file: its keys in turn, and what each of them brings along."""

from collections.abc import Container
from typing import Any

from kilnctl.cli.oven.oven_file.asking import text_language
from kilnctl.cli.oven.oven_file.asking.answers_so_far import answers
from kilnctl.cli.oven.oven_file.asking.checked_answers import contradiction
from kilnctl.cli.oven.oven_file.asking.earlier_writes import EarlierWrites
from kilnctl.cli.oven.oven_file.asking.heater_kinds import HEATER, KIND, brings, turn_into
from kilnctl.cli.oven.oven_file.asking.key_asking import GROUPS, KeyAsker, Ports
from kilnctl.cli.oven.oven_file.asking.ports_here import ports_here
from kilnctl.cli.oven.oven_file.asking.questions import (
    DECIMALS,
    EXPONENT,
    MODE_IN_AN_ANSWER,
    OFF_WRITES,
    POWER,
    REGULATES,
    SAME_FUNCTIONS,
    WEARS_OUT,
)
from kilnctl.cli.oven.oven_file.asking.watchdog import Watchdog
from kilnctl.cli.oven.oven_file.file_text import LISTS, Path, dotted
from kilnctl.cli.oven.oven_file.follow_ups import (
    AT_THE_END,
    BY_AMOUNT,
    FollowUp,
    follow_ups,
    of_the_format,
)
from kilnctl.cli.oven.oven_file.more_keys import PLACES, goes_with, like, more_keys
from kilnctl.cli.oven.oven_file.more_places import like_the_first
from kilnctl.cli.oven.oven_file.other_kinds import kind_of
from kilnctl.cli.oven.oven_file.templates import Way
from kilnctl.cli.terminal.by_asking import Ask, Say
from kilnctl.config.port_path import is_network

SERIAL, LANGUAGE = ("baud", "parity", "stop_bits"), ("words", "ask", "tell")
READ_BACK = (HEATER, ("output", "contactor"))  # what is set and stands in an answer too, by most sheets
ANSWERS_HAVE = "# the answers have {}"
MAY_REGULATE = ("network", "text-board")  # ways of which the example has a relay, and some boards a set-point
SET_POINT = {"unit": "C", "park": "0 C", "highest": "", "link_loss": "drops"}


class TableAsker(KeyAsker):
    """Asks for single tables of the example of a way. `taken` are names that another oven has."""

    def __init__(
        self, way: Way, ask: Ask, say: Say, taken: Container[str] = (), ports: Ports = ports_here
    ) -> None:
        super().__init__(way, ask, say, taken, ports)
        self._languages = text_language.Languages(ask, say)
        self._fed_by_one_line = False
        self._watchdog = Watchdog(self._yes, self._key, say, self._languages)
        self._earlier = EarlierWrites()

    def _value(self, path: Path, value: Any) -> Any:
        self._asked.add(path)
        if isinstance(value, dict):
            return self._agreeing(path, self._nearest(path, value)) if self._is_there(path) else None
        if path[-1] == "kind" and path[0] != "switching":
            return value  # the way of connecting says it
        if path[-1] == "field":
            return self._field(path, value)
        if (known := self._watchdog.known(path)) is not None:
            return known
        if path in (("dead_man", "write"), ("arm", "write")) and self._fed_by_one_line:
            return 1
        return self._key(path, value)

    def _nearest(self, path: Path, example: dict[str, Any]) -> dict[str, Any]:
        """Return the example of a table, the second sensor's after what was answered for the first."""
        if path == ("output", "lamp"):
            self._example["output"]["lamp"] = example
        first = self._answered.get(("signal", "process"))
        if path != ("signal", "second") or not first:
            return example
        self._example["signal"]["second"] = made = like_the_first(first, example)
        return made

    def _agreeing(self, path: Path, values: dict[str, Any]) -> dict[str, Any]:
        """Ask for a table until nothing in it contradicts what was answered before.

        Asked again, it offers the answers of before: one wrong key costs no other.
        """
        whole = len(path) == (2 if path[0] in GROUPS else 1)
        while True:
            made = self._table(path, dict(values))
            self._answered |= {path: made} if whole else {}
            if path == ("arm",) and self._off_writes(made):
                self._answered.pop(path)
                self._say(OFF_WRITES)
                return made
            if path == ("arm",) and self._at_back(made):  # the mode of an instrument: it becomes the dead-man
                self._answered.pop(path)
                return made
            why = contradiction(self._example, self._answered, path) if whole else ""
            why = WEARS_OUT if path == ("dead_man",) and "write" not in made else why
            if whole:
                self._own = {(*path, *key): one for key, one in answers(made)} if why else {}
            if not why:
                return made
            values = {**values, **made}
            self._say(f"{why}\nEnter keeps what you have said. So {dotted(path)} again:")

    def _table(self, path: Path, values: dict[str, Any]) -> dict[str, Any]:
        made: dict[str, Any] = {"kind": values["kind"]} if "kind" in values and path != ("switching",) else {}
        self._made[path] = made
        speaks = values.get("kind") == "text"
        if (
            path == HEATER
            and made.get(KIND) != "set-point"
            and self._way.topic in MAY_REGULATE
            and self._yes(f"output.heater.park: {REGULATES}")
        ):
            made["kind"], values = "set-point", {**values, **SET_POINT}
        if "device" in values and path[0] != "device":
            made["device"] = self._value((*path, "device"), values["device"]) or values["device"]
            values = self._placed(path, values, made["device"])
            self._at_device = made["device"]
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
            made |= self._told_beside()
            made |= self._as_before(path, made) if key == "register" else {}
            if path[0] == "device" and key == "address":
                self._counts(path)
            if path == ("dead_man",) and key in ("register", "field"):
                self._asked.add(("dead_man", "stored"))
                if not self._watchdog.stored(made, self._say):
                    return made
        self._follow(path, AT_THE_END, made, values)
        self._anything_else(path, made)
        if made.get("kind") == "duty" and made.get("table") == "coil":
            self._say("# A coil is on or off and takes no power: kind is switch.")
            del made["kind"]
        self._earlier.note(path, made)
        made |= self._power(made) if path == HEATER else {}
        return made | self._in_its_language(path, made, speaks)

    def _in_its_language(self, path: Path, made: dict[str, Any], speaks: bool) -> dict[str, Any]:
        if speaks:
            return self._languages.ask_for(path[-1], "unasked" in made)
        return self._languages.read_back(made) if path[0] == "output" else {}

    def _power(self, made: dict[str, Any]) -> dict[str, Any]:
        """Ask whether a heater takes a power; of a text board first which number is full heat."""
        if made.get("kind") in BY_AMOUNT:
            return {}
        full = made.get("on", 1)
        if self._languages.numbers(made.get("device", ""), str(made.get("field", ""))):
            self._say(POWER)
            full = self._key(("output", "heater", "on"), 1)
        return self._watchdog.power(made, full)

    def _anything_else(self, path: Path, made: dict[str, Any]) -> None:
        """Offer the keys that nobody was asked for, by name: no oddity of a board is out of reach."""
        whole = path[0] in (*LISTS, "dead_man") or len(path) > 1
        if not whole:
            return
        device = made if path[0] == "device" else self._example["device"].get(made.get("device", ""), {})
        kind = kind_of(device) if path[0] != "port" or self._has_registers(path, {}) else "text"
        every = more_keys(path, kind, is_network(str(made.get("path", ""))))
        if path == HEATER:
            every = [KIND, *(key for key in every if goes_with(key, made))]
        if path == ("dead_man",) and made.get("shown", "then" not in made):
            every.remove("back")  # the contact of a timer relay, and there is none
        while left := [one for one in every if self._is_left(path, one, made)]:
            self._name_each(path, left)
            if (key := self._ask(f"{dotted(path)}, anything else: ").strip()) in text_language.NOTHING:
                return
            if key not in left:
                self._say(f"type the name of a key first, such as {left[0]}; {key} is none. Enter: no more")
                continue
            made |= self._one_of(path, key, made)

    def _as_before(self, path: Path, made: dict[str, Any]) -> dict[str, Any]:
        """Ask for what other registers of the device are written with, where it is not the usual way."""
        offered = self._earlier.offered(path, made)
        self._say(SAME_FUNCTIONS) if "multiple" in offered else None
        asked = {key: self._key((*path, key), one) for key, one in offered.items()}
        usual = ("format", offered.get("format"))
        found = {key: one for key, one in asked.items() if one is not None and (key, one) != usual}
        return found | self._earlier.orders(made | found)

    def _one_of(self, path: Path, key: str, made: dict[str, Any]) -> dict[str, Any]:
        example = like(path, key, made)
        if path == HEATER and (key == KIND or brings(key, made)):
            return self._of_a_kind(key, made)
        if key in PLACES:
            self._place_of(path)[key] = dict(example)
            return {key: self._table((*path, key), example)}
        answer = self._key((*path, key), example)
        return {} if answer is None else {key: answer}

    def _of_a_kind(self, key: str, made: dict[str, Any]) -> dict[str, Any]:
        """Ask which kind a heater is, unless `key` says so, and for what such a one needs."""
        if kind := brings(key, made):
            self._say(f'# {key}: so it is kind = "{kind}".')
        elif (kind := self._key((*HEATER, KIND), made.get(KIND, "switch"))) is None:
            return made
        turn_into(made, kind)
        self._follow(HEATER, KIND, made, {})
        return made

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
        self._asked.add((*path, more.key))
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
        written = path[0] in ("output", "dead_man", "arm") and "back" not in path
        names = self._languages.names(device)
        mode = path[0] == "dead_man" and self._watchdog.stands_by
        if (not written or path[:-1] in READ_BACK) and value not in names:
            self._say(ANSWERS_HAVE.format(", ".join(names)))
        while True:
            name = self._key(path, value if (written and not mode) or value in names else "")
            if name and ((written and not mode) or name in names):
                break
            self._say((MODE_IN_AN_ANSWER if mode else ANSWERS_HAVE).format(", ".join(names)))
        if written and not self._languages.tells(device, name):
            name, counts = self._languages.ask_told(device, name, path[0] == "output" or mode)
            self._fed_by_one_line = path[0] in ("dead_man", "arm") and not counts
        return str(name)
