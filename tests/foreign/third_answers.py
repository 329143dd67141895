"""What a maker with a sheet of the third part of `sheets.md` answers to `oven new`."""

from foreign.first_answers import PLATE, Told, in_turn


def third_answers(path: str) -> dict[str, Told]:
    """Return the answers for each bench, which is at `path`."""
    told: dict[str, Told] = {
        "latch": {
            "^kind": "1", "baud": "9600", "parity": "none", r"relays\.address": "17",
            r"device\.sensors: is": "n", r"process\.register": "2", r"process\.open": "32767",
            r"heater\.register": "4", r"output: ": in_turn("lamp", "", ""), r"lamp\.register": "5",
            "identity.*y/n": "y", r"identity\.table": "input", r"identity\.register": "0",
            "expect": "0x2110", "^dead_man:": "y", r"heater\.holds: Is it": "y", r"heater\.holds: ": "10 s",
            "^arm: Must": "y", "^arm: Anything": in_turn("y", "n"), r"arm\.register": in_turn("10", "11"),
            r"arm\.write": in_turn("100", "0"),
        },
        "enter": {
            "^kind": "8", "baud": "38400", r"\.line_end": "CR", r"\.answer_end": "CR LF",
            r"\.checksum": "none", "open_words": "OPEN", r"\.who": "-", "echoes": "n",
            r"ask\.send": in_turn("TEMP", "HEAT", "LAMP", ""),
            r"ask\.reply": in_turn("TEMP {process} C", "HEAT IS {heater}", "LAMP IS {lamp}"),
            r"words\.(heater|lamp):": "OFF, ON", r"words\.": "",
            r"heater\.send": "HEAT {value}", r"heater\.reply": "HEAT IS {value}", "lamp.*y/n": "y",
            r"lamp\.send": "LAMP {value}", r"lamp\.reply": "LAMP IS {value}", "^dead_man:": "y",
            r"heater\.holds: Is it": "y", r"heater\.holds: ": "6 s",
        },
        "run-panel": {
            "^kind": "6", "baud": "19200", r"panel\.address": "5", r"process\.register": "0x100",
            r"(process|heater)\.format": "float32", r"word_order": "low first", r"process\.open": "-9999",
            r"heater\.table": "holding", r"heater\.register": "0x102", "park": "0 C", "link_loss": "drops",
            r"heater\.highest": "1100 C",
            "contactor.*y/n": "n", "lamp.*y/n": "y", r"lamp\.table": "holding", r"lamp\.register": "0x113",
            "identity.*y/n": "y", r"identity\.table": "holding", r"identity\.register": "0x112",
            "expect": "3351", "^dead_man:": "y", r"dead_man\.table": "holding",
            r"dead_man\.register": "0x110", r"dead_man\.write": "1", r"drops_after": "3 s",
            "zero_drops": "y", r"heater\.back: When": "y", "^arm: Must": "y", "^arm: Anything": "n",
            r"arm\.table": "holding", r"arm\.register": "0x111", r"arm\.write": "3",
        },
        "word": {
            "^kind": "1", "baud": "19200", "parity": "none", r"relays\.address": "3",
            r"device\.sensors: is": "n", r"process\.register": "0", r"heater\.table": "holding",
            r"\.bit": in_turn("0", "1", "2"), "heater.register": "1", "contactor.*y/n": "y",
            r"contactor\.table": "holding", r"contactor\.register": "1", r"output: ": in_turn("lamp", "", ""),
            r"lamp\.table": "holding", r"lamp\.register": "1", "^dead_man:": "y",
            r"dead_man\.register": "2", r"dead_man\.write": "1", r"dead_man\.then": "0", "drops_after": "5 s",
            r"dead_man\.shown": "y",
        },
        "power": {
            "^kind": "7", r"\.line_end": "LF", r"\.answer_end": "", r"\.checksum": "none",
            "open_words": "---", r"\.who": "-", "echoes": "n", "banner": "-",
            r"ask\.send": in_turn("S", ""), r"ask\.reply": "S T={process} P={heater} L={lamp}",
            r"words\.": "", r"heater\.send": "P {value}", r"heater\.reply": "P={value} %",
            r"heater\.on": "100", r"heater\.kind": "y", "cold_junction.*y/n": "n",
            r"output: ": in_turn("lamp", "", ""), r"lamp\.send": "L {value}", r"lamp\.reply": "L={value}",
            "^dead_man:": "y", r"heater\.holds: Is it": "y", r"heater\.holds: ": "5 s",
        },
        "both": {
            "^kind": "8", r"\.line_end": "CR LF", r"\.checksum": "none", "open_words": "-", r"\.who": "-",
            "echoes": "n", r"ask\.send": in_turn("GET", ""), r"ask\.reply": "{process},{heater},{lamp}",
            r"words\.(heater|lamp):": "OFF, ON", r"words\.": "",
            r"heater\.send": "SET {value} {lamp}", r"heater\.reply": "NOW {value} {lamp}",
            "lamp.*y/n": "y", r"lamp\.send": "SET {heater} {value}",
            r"lamp\.reply": "NOW {heater} {value}", "^dead_man:": "y", r"alive\.send": "OK",
            r"alive\.reply": "OK", "drops_after": "5 s",
        },
    }  # fmt: skip
    return {name: {**said, r"\.path": path, **PLATE} for name, said in told.items()}
