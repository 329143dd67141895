"""What a maker with a sheet of `sheets.md` answers to `oven new`, by patterns of the questions."""

from collections.abc import Callable, Mapping

Told = Mapping[str, str | Callable[[], str]]
PLATE: Told = {
    "^name": "bench", "^use": "tempering", "^build": "leaky", "^power": "1200 W", "^limit": "260 C",
    "^isolator": "red switch by the door", r"^switching\.kind": "solid-state",
    r"\.timeout": "0.6 s",  # a bench is a thread of a process that shares its machine: it may answer late
    r"\.baud:": "9600", r"\.line_end:": "LF",
    r"process\.low": "-20 C", r"process\.high": "400 C", r"y/n\] $": "n",
}  # fmt: skip


def in_turn(*said: str) -> Callable[[], str]:
    """Answer a question that is asked again and again."""
    left = iter(said)
    return lambda: next(left)


def odd_answers(path: str, other_path: str = "") -> dict[str, Told]:
    """Return the answers for each bench, which is at `path`."""
    told: dict[str, Told] = {
        "exponent": {
            "^kind": "1", "baud": "19200", "parity": "none", r"device\.relays\.address": "12",
            r"device\.sensors: is": "y", r"sensors\.address": "11", r"process\.register": "104",
            r"process\.scale": "1", r"process\.open": "-", r"second\.format": "float32",
            r"second\.word_order": "low first", r"exponent\.scale": "n", r"exponent.*y/n": "y",
            r"exponent\.register": "105", r"process\.fault.*y/n": "y", r"process\.fault\.register": "100",
            r"fault\.bit": "4", "signal.second.*y/n": "y", r"second\.device": "sensors",
            r"second\.register": "101", r"second\.low": "-20 C", r"second\.high": "400 C",
            "heater_live.*y/n": "y", r"heater_live\.register": "0", r"heater\.register": "0",
            "contactor.*y/n": "y", r"contactor\.register": "1", r"output: ": in_turn("lamp", "", ""),
            r"lamp\.register": "2", "identity.*y/n": "y", r"identity\.register": "249", "expect": "52",
            "^dead_man:": "y", r"dead_man\.register": "200", r"dead_man\.write": "5",
            r"drops_after": "5 s",
        },
        "manual": {
            "^kind": "3", "baud": "9600", r"\.address": "3", r"process\.table": "holding",
            r"process\.register": "0", r"heater\.register": "5", r"heater\.on": "1000", "^dead_man:": "y",
            r"dead_man\.register": "4", r"dead_man\.write": "2", r"drops_after": "5 s", "zero_drops": "y",
            r"output: ": in_turn("lamp", "", ""), r"lamp\.table": "holding", r"lamp\.register": "20",
        },
        "inverted": {
            "^kind": "1", "baud": "38400", "parity": "none", r"device\.relays\.address": "1",
            r"device\.sensors: is": "y", r"sensors\.address": "2", r"process\.register": "0",
            r"heater\.register": "0", r"\.on \[": "0", r"\.off \[": "1", "contactor.*y/n": "y",
            r"contactor\.register": "1", r"horn.*y/n": "n", r"output: ": in_turn("lamp", "", ""),
            r"lamp\.register": "2", "heater_live.*y/n": "y", r"heater_live\.register": "0",
            "heater_live.inverted": "y", "door_open.*y/n": "y", r"door_open\.register": "1",
            "door_open.inverted": "n", "^dead_man:": "y", "dead_man.table": "coil",
            r"dead_man\.register": "8", r"dead_man\.write": "1", r"dead_man\.then": "0",
            r"drops_after": "4 s",
        },
        "prompt": {
            r"\.line_end": "CR LF", "^kind": "7", r"\.checksum:|checksum \[": "sum8", "checksum_mark": "#",
            "echoes": "y",
            r"\.prompt": '"> "', "banner \\[": "Brenna tc v3", "open_words": "------", "who": "-",
            r"ask\.send": in_turn("?T", "?Q", "?L", ""),
            r"ask\.reply": in_turn("T={process} degC", "Q={heater}", "L={lamp}"), "words": "",
            r"heater\.send": "!Q {value}", r"heater\.reply": "Q={value} ok",
            r"output: ": in_turn("lamp", "", ""), r"lamp\.send": "!L {value}",
            r"lamp\.reply": "L={value} ok", r"alive\.send": "!K {value}",
            r"alive\.reply": "K={value} s ok", "cold_junction.*y/n": "n", "^dead_man:": "y",
            r"dead_man\.write": "6", "drops_after": "6 s",
        },
        "gateway": {
            "^kind": "5", r"relays\.address": "1", r"device: ": in_turn("sensors", "inputs", ""),
            r"sensors\.address": "2", r"inputs\.address": "7", r"process\.device": "sensors",
            r"heater_live\.device": "inputs", r"door_open\.device": "inputs", r"process\.register": "0",
            "heater_live.*y/n": "y", r"heater_live\.register": "0", "door_open.*y/n": "y",
            r"door_open\.register": "1", r"heater\.register": "0", "contactor.*y/n": "y",
            r"contactor\.register": "1", "lamp.*y/n": "y", r"lamp\.register": "2", "identity.*y/n": "y",
            r"identity\.register": "50", "expect": "41", "^dead_man:": "y", r"dead_man\.register": "0",
            r"dead_man\.write": "5", r"drops_after": "5 s",
        },
        "two-speeds": {
            "^kind": "1", r"rs485\.baud": "9600", "parity": "none", "port: ": in_turn("second", ""),
            r"second\.path": other_path, r"second\.baud": "19200", r"relays\.port": "rs485",
            r"sensors\.port": "second", r"relays\.address": "1", r"device\.sensors: is": "y",
            r"sensors\.address": "1", r"process\.register": "0", "heater_live.*y/n": "y",
            r"heater_live\.register": "0", r"heater\.register": "0", "contactor.*y/n": "y",
            r"contactor\.register": "1", r"output: ": in_turn("lamp", "", ""), r"lamp\.register": "2",
            "^dead_man:": "y", r"dead_man\.register": "0", r"dead_man\.write": "5", r"drops_after": "5 s",
        },
        "own-set-point": {
            "^kind": "3", "baud": "9600", r"\.address": "5", r"process\.table": "holding",
            r"process\.register": "0", r"process\.open": "-32768", r"heater\.register": "4",
            r"heater\.on": "1000",
            "^dead_man:": "y", r"dead_man\.register": "6", r"dead_man\.write": "1", r"drops_after": "6 s",
            r"signal: ": in_turn("heater_live", "", ""), r"heater_live\.register": "0",
            r"output: ": in_turn("lamp", "", ""), r"lamp\.register": "2",
        },
        "single": {
            "^kind": "1", "baud": "9600", "parity": "none", r"relays\.address": "9", "together": "n",
            r"device\.sensors: is": "n", r"process\.register": "20", r"process\.scale": "1",
            r"process\.open": "999", "resolution": "1 K", r"heater\.register": "10", "contactor.*y/n": "y",
            r"contactor\.register": "11", "heater_live.*y/n": "y", "heater_live.register": "30",
            r"output: ": in_turn("lamp", "", ""), r"lamp\.register": "12", "^dead_man:": "y",
            "dead_man.register": "40", "dead_man.write": "50", "drops_after": "5 s",
        },
    }  # fmt: skip
    return {name: {**said, r"\.path": path, **PLATE} for name, said in told.items()}
