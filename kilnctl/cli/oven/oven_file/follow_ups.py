"""What is asked after a key though the example of its way lacks it: what only some benches have."""

from typing import Any, NamedTuple

from kilnctl.cli.oven.oven_file.more_places import SWITCHES
from kilnctl.config.oven import Switching
from kilnctl.config.places import FLOATS
from kilnctl.units import c_from_f, parse_duration_s, parse_point_c

OVER_SEVERAL = ("int32", "uint32", "float32", "float64")
BY_FORMAT = ("scale", "offset", "open_values", "resolution")
BY_AMOUNT = ("duty", "set-point")  # heaters that take an amount, not on and off
GOES_WITH = {"checksum_mark": "checksum", "checksum_after": "checksum", "banner_wait": "banner"}
NOTHING = "none"
USUAL_WINDOW_S = Switching(kind="contactor").window_s  # what a file has that tells none
AT_THE_END = ""  # the key after which comes what is asked last of a table
Made = dict[str, Any]


class FollowUp(NamedTuple):
    """A key, an example of it, the answer that need not be written, and whether Enter leaves it out."""

    key: str
    example: Any
    unwritten: Any = None
    may_miss: bool = False


def follow_ups(path: tuple[str, ...], key: str, made: Made, modbus: bool) -> list[FollowUp]:
    """Return what is asked next of a table at `path` in which `key` has just been answered."""
    if path == ("switching",):
        return _of_a_rest(key, made)
    if path[0] == "device" and made.get("kind") == "text":
        return _of_a_text_board(key, made)
    if path[0] == "port" and key == "baud":
        return [FollowUp("parity", "none", "none"), FollowUp("stop_bits", 1, 1)]
    if (
        path[0] == "signal"
        and key == AT_THE_END
        and "unit" in made
        and len(path) == len(("signal", "process"))
    ):
        return _of_a_sensor(path, made)
    if path[0] == "dead_man" and key == "drops_after" and "field" in made:
        return [FollowUp("shown", True, True)]
    if path == ("output", "heater") and key == "kind":
        return _of_a_kind(made, modbus)
    if not modbus:
        scaled = path[0] == "signal" and key == "field" and path[-1] not in SWITCHES
        return [FollowUp("scale", 1.0, 1.0)] if scaled else []
    match path[0]:
        case _ if path[-1] == "back":
            return _of_a_place(path, key, made)
        case "port":
            return _of_a_port(key, made)
        case "output":
            return _of_an_output(path, key, made)
        case "dead_man":
            return _of_a_dead_man(key, made)
    return _of_a_place(path, key, made)


def of_the_format(key: str, example: Made, made: Made) -> bool:
    """False for what an example says of a whole number where the answer is a decimal one, or the reverse.

    False for a broken sensor's number that a sound one could send: 32767 thousandths of a degree are 32.8 °C.

    False too for what goes with another key of the example that was left out or answered with none.
    """
    with_key = GOES_WITH.get(key, "")
    if with_key in example and made.get(with_key, NOTHING) == NOTHING:
        return False
    if key == "open_values" and any(_could_be_real(one, example, made) for one in example.get(key, ())):
        return False
    formats = example.get("format", "int16"), made.get("format")
    return key not in BY_FORMAT or None in formats or (formats[0] in FLOATS) == (formats[1] in FLOATS)


def _could_be_real(raw: float, example: Made, made: Made) -> bool:
    """True where a number lies in the plausible range of the temperature that is asked for."""
    unit, ends = made.get("unit", "C"), [{**example, **made}.get(end) for end in ("low", "high")]
    if unit not in ("C", "F") or not all(isinstance(end, str) for end in ends):
        return False
    value = raw * made.get("scale", 1.0) + made.get("offset", 0.0)
    low_c, high_c = (parse_point_c(str(end)) for end in ends)
    return low_c <= (c_from_f(value) if unit == "F" else value) <= high_c


def _of_a_rest(key: str, made: Made) -> list[FollowUp]:
    """Ask whether an output rests after going off, and for the window where that is no longer one."""
    if key == "min_off" and parse_duration_s(str(made.get(key, "0 s"))) > USUAL_WINDOW_S:
        return [FollowUp("window", "60 s")]
    return [FollowUp("min_off", "2 s", None, True)] if key == "kind" else []


def _of_a_text_board(key: str, made: Made) -> list[FollowUp]:
    match key:
        case "line_end":
            return [
                FollowUp("answer_end", "CR LF", None, True),
                FollowUp("checksum", "none", "none"),
                FollowUp("open_words", ["nan"], None, True),
                FollowUp("busy_words", ["BUSY"], None, True),
                FollowUp("echoes", False, False),
                FollowUp("prompt", "", "", True),
                FollowUp("banner", "", "", True),
                FollowUp("who", "", "", True),
                FollowUp("unasked", "", "", True),
            ]
        case "checksum" if made.get(key, "none") != "none":
            return [FollowUp("checksum_mark", "*", "*"), FollowUp("checksum_after", "", "", True)]
        case "banner" if made.get(key):
            return [FollowUp("banner_wait", "2 s", "2 s")]
    return []


def _of_a_port(key: str, made: Made) -> list[FollowUp]:
    if key == AT_THE_END and "baud" in made:
        return [FollowUp("frames", "rtu", "rtu"), FollowUp("echoes", False, False)]
    return [FollowUp("data_bits", 8, 8)] if key == "frames" and made.get(key) == "ascii" else []


def _of_an_output(path: tuple[str, ...], key: str, made: Made) -> list[FollowUp]:
    if key == "register" and path == ("output", "heater") and _is_written(made):
        return [FollowUp("multiple", False, False), *_of_a_number(path, key, made)]
    return _of_a_number(path, key, made)


def _is_written(made: Made) -> bool:
    """False for a coil that is to take an amount: that is told to be none."""
    return made.get("table") == "holding" or (
        made.get("table") == "coil" and made.get("kind") not in BY_AMOUNT
    )


def _of_a_number(path: tuple[str, ...], key: str, made: Made) -> list[FollowUp]:
    if key == "register" and len(path) == len(("output", "heater")) and made.get("kind") not in BY_AMOUNT:
        shared = made.get("table") == "holding" and made.get("kind") != "pulse"
        return [*([FollowUp("bit", 0, None, True)] if shared else []), FollowUp("on", 1, 1)]
    if key == "register" and made.get("kind") in BY_AMOUNT and made.get("table", "holding") == "holding":
        return [FollowUp("format", "int16", "int16")]
    if key == "on" and made.get("on", 1) != 1:
        return [FollowUp("off", 1 if made["on"] == 0 else [0, 0] if isinstance(made["on"], list) else 0)]
    return _of_a_place(path, key, made)


def _of_a_kind(made: Made, modbus: bool) -> list[FollowUp]:
    """Return what a heater of a kind needs, each from its own sheet."""
    match made.get("kind"):
        case "pulse":
            return [FollowUp("holds", "")]
        case "duty":
            needed = [FollowUp("on", 100)]
        case "set-point":
            needed = [
                FollowUp("unit", "C"),
                FollowUp("park", ""),
                FollowUp("highest", ""),
                FollowUp("link_loss", ""),
            ]
        case _:
            return []
    whole = modbus and made.get("table", "holding") == "holding"
    return [*needed, *([FollowUp("format", "int16", "int16")] if whole else [])]


def _of_a_dead_man(key: str, made: Made) -> list[FollowUp]:
    if key == "write" and "stored" not in made:  # what is stored does not change
        return [FollowUp("then", 0, None, True)]
    if key == "then" and made.get("then") is not None:
        edges = {made.get("write"), made["then"]} == {0, 1}  # as for a timer; of any other two it is written
        return [FollowUp("shown", not edges, False if edges else None)]
    if key == "drops_after" and "then" not in made and "zero_drops" not in made:
        return [
            *([] if "stored" in made else [FollowUp("counts_to", 255, None, True)]),
            FollowUp("zero_drops", False, False),
            FollowUp("shown", True, True),
        ]
    return []


def _of_a_place(path: tuple[str, ...], key: str, made: Made) -> list[FollowUp]:
    measured = path[0] == "signal" and path[-1] not in SWITCHES
    whole = made.get("format") not in FLOATS
    if key == "format":
        order = [FollowUp("word_order", "high first")] if made.get(key) in OVER_SEVERAL else []
        return order + ([FollowUp("scale", 1.0, 1.0)] if measured and whole else [])
    if key == "register" and (
        path[-1] in ("fault", "back") or (path[0] == "signal" and path[-1] in SWITCHES)
    ):
        bit = [FollowUp("bit", 0, None, True)] if made.get("table") in ("holding", "input") else []
        return [*bit, FollowUp("inverted", False, False)]
    if path[0] == "identity" and key == "register":
        return [
            FollowUp("format", "int16", "int16")
        ]  # before `expect`: over two registers it is another number
    if key == "register" and measured and len(path) == len(("signal", "process")):
        return [FollowUp("format", "int16", "int16")]
    if key == "scale" and measured:
        return [FollowUp("offset", 0.0, 0.0)]
    if key == "unit" and measured:
        broken = [FollowUp("open_values", [32767] if whole else [-9999.0], None, True)]
        return broken + ([] if made.get("format") in OVER_SEVERAL else [FollowUp("exponent", _beside(made))])
    return []


def _of_a_sensor(path: tuple[str, ...], made: Made) -> list[FollowUp]:
    """What heats by it must know: the step that its module shows, and the letter of a couple."""
    if path[-1] not in ("process", "second"):
        return []
    letter = [FollowUp("couple", "other", "other")] if made["unit"] != "mV" else []
    return [FollowUp("resolution", "0.1 K", "0.1 K"), *letter]


def _beside(made: Made) -> Made:
    """Return the place of a decimal point: of the same device and table, most often the next register."""
    return {"device": made["device"], "table": made["table"], "register": made.get("register", 0) + 1}
