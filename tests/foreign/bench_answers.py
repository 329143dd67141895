"""What a maker answers to `oven new` for the benches of `benches.py`, by the words of the questions."""

from collections.abc import Callable, Mapping

PLATE = {
    "^name": "bench", "^use": "tempering", "^build": "leaky", "^power": "1200 W", "^limit": "260 C",
    "^isolator": "red switch by the door", r"^switching\.kind": "solid-state",
    r"process\.low": "-20 C", r"process\.high": "400 C",
    r"\.baud:": "9600", r"\.line_end:": "LF",
    r"\.timeout": "0.6 s",  # a bench shares its machine with others and may answer late
}  # fmt: skip
RELAYS = {
    r"device\.sensors?: is this": "n", r"\.relays\.address": "1", r"process\.register": "0",
    r"process\.format": "int16", r"process\.scale": "0.1", r"process\.offset": "0.0", r"process\.unit": "C",
    r"process\.fault": "n", r"signal\.second": "n", r"signal\.heater_live.*y/n": "y",
    r"heater_live\.register": "0", r"signal\.door_open.*y/n": "y", r"door_open\.register": "1",
    r"heater\.register": "0", r"contactor.*y/n": "y", r"contactor\.register": "1",
    "identity.*y/n": "y", r"identity\.register": "50", r"identity\.expect": "41", "^dead_man:": "y",
    r"dead_man\.register": "0", r"dead_man\.write": "5", r"dead_man\.drops_after": "5 s",
    r"inverted": "false", r"output\.lamp.*y/n": "y", r"lamp\.register": "2",
}  # fmt: skip
Told = Mapping[str, str | Callable[[], str]]
TOLD: dict[str, Told] = {
    "pymodbus-tcp": {"^kind": "5", **RELAYS},
    "rtu-over-tcp": {"^kind": "5", **RELAYS},
    "firmware": {
        "^kind": "9", r"\.baud": "115200", r"board\.name": "carver_bench", r"current_a.*y/n": "n",
        r"counter.*y/n": "n", r"contactor.*y/n": "y", r"lamp.*y/n": "y", "^dead_man:": "y",
        r"dead_man\.write": "10", r"dead_man\.drops_after": "10 s", r"stay on": "10 s",
    },
    "pymodbus-pty": {"^kind": "1", r"\.baud": "19200", r"\.parity": "none", **RELAYS},
    "relay-script": {"^kind": "1", r"\.baud": "19200", r"\.parity": "none", **RELAYS},
    "timer": {
        "^kind": "4", r"heater\.back.*y/n": "y", r"back\.register": "0", r"dead_man\.register": "1",
        r"dead_man\.write": "1", r"dead_man\.then": "0",
        **{asked: said for asked, said in RELAYS.items() if not asked.startswith("dead_man")},
        r"dead_man\.drops_after": "5 s",
    },
    "words": {
        "^kind": "8",
        r"ask\.reply": r"T={process}\nDOOR {door}\nHEAT {heater}\nLAMP {lamp}\nEND",
        r"heater\.send": "HEAT {value}", r"heater\.reply": "HEAT IS {value}",
        r"lamp\.send": "LAMP {value}", r"lamp\.reply": "LAMP IS {value}",
        r"words\.(heater|lamp)": "OFF, ON", r"words\.door": "SHUT, OPEN",
        r"alive\.send": "ALIVE", r"alive\.reply": "OK", r"\.baud": "9600", r"\.who": "-", "^dead_man:": "y",
        r"dead_man\.write": "1",
        r"dead_man\.drops_after": "5 s", r"door_open.*y/n": "y", r"lamp.*y/n": "y",
    },
    "panel": {
        "^kind": "6", r"\.format": "float32", r"\.word_order": "low first", r"\.resolution": "-",
        r"\.address": "5", r"process\.register": "0", r"heater\.register": "10",
        r"link_loss": "holds", r"\.park": "0 C", r"heater_live.*y/n": "y", r"heater_live\.table": "discrete",
        r"heater\.highest": "1100 C",
        r"heater_live\.register": "0", r"heater_live\.bit": "-", "contactor.*y/n": "n",
        r"lamp.*y/n": "y", r"lamp\.register": "2",
    },
}  # fmt: skip
TOLD["chip"] = {**TOLD["firmware"], r"\.baud": "38400"}


def bench_answers(path: str) -> dict[str, Told]:
    """Return the answers for each bench that is at this path; whatever else is asked for is not there."""
    lines = {"words": {r"ask\.send": iter(("READ", "")).__next__}}
    return {
        name: {r"\.path": path, **lines.get(name, {}), **told, **PLATE, r"\[y/n\] $": "n"}
        for name, told in TOLD.items()
    }
