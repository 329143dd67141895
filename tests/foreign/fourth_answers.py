"""What a maker with a sheet of the last part of `sheets.md` answers to `oven new`."""

from foreign.first_answers import PLATE, Told, in_turn


def fourth_answers(path: str) -> dict[str, Told]:
    """Return the answers for each bench, which is at `path`."""
    text = {"^kind": "7", r"cold_junction.*y/n": "n", "^dead_man:": "y"}
    told: dict[str, Told] = {
        "fixed": {
            **text, "baud": "19200", r"\.line_end": "CR LF", "open_words": "-----",
            r"ask\.send": in_turn("R", ""), r"ask\.reply": "T{process:+0000}P{heater:000}L{lamp}#{any}",
            r"process\.scale": "0.1", r"words\.": "", r"heater\.send": "P {value:000}",
            r"heater\.reply": "OK {any}", r"heater\.on": "100", r"heater\.kind": "y",
            r"output: ": in_turn("lamp", "", ""), r"lamp\.send": "L {value}", r"lamp\.reply": "OK {any}",
            r"heater\.holds: Is it": "y", r"heater\.holds: ": "5 s",
        },
        "comma": {
            **text, "baud": "9600", r"\.line_end": "LF", "open_words": "ERR 3",
            r"device\.micro, anything": in_turn("decimal", ""), r"\.decimal": ",",
            r"ask\.send": in_turn("TEMP?", "HEAT?", "LAMP?", ""),
            r"ask\.reply": in_turn("{process} °C", "{heater}", "{lamp}"),
            r"words\.(heater|lamp):": "NOT ON, IS ON", r"words\.(heater|lamp)_command": "0, 1",
            r"words\.process": "", r"(heater|lamp)\.reply": "", r"heater\.send": "HEAT={value}",
            r"lamp\.send": "LAMP={value}", r"output: ": in_turn("lamp", "", ""),
            r"heater\.holds: Is it": "n", r"alive\.send": "STAY", r"alive\.reply": "", "drops_after": "5 s",
        },
        "frame": {
            **text, "baud": "9600", r"\.parity": "even", r"port\.usb, anything": in_turn("data_bits", ""),
            "data_bits": "7", r"\.line_end": "ETX", r"checksum \[": "lrc8", "checksum_mark": '""',
            "checksum_after": "<STX>", r"ask\.send": in_turn("<STX>07V", ""),
            r"ask\.reply": "<STX>07V{process:+XXXX}S{status:XX}R{heater:0}{lamp:0}00",
            r"process\.scale": "0.1", r"words\.": "", r"heater\.send": "<STX>07W{value:0}{lamp:0}00",
            r"heater\.reply": "<STX>07A", r"lamp\.send": "<STX>07W{heater:0}{value:0}00",
            r"lamp\.reply": "<STX>07A", r"output: ": in_turn("lamp", "", ""),
            r"signal\.process, anything": in_turn("fault", ""), r"fault\.field": "status",
            r"process\.fault, anything": in_turn("mask", ""), r"fault\.mask": "3",
            r"heater\.holds: Is it": "n", r"alive\.send": "<STX>07K{value:XX}", r"alive\.reply": "<STX>07A",
            r"dead_man\.write": "5", "drops_after": "5 s",
        },
        "talker": {
            **text, "baud": "57600", r"\.line_end": "LF", "open_words": "---.-", r"micro\.unasked \[": "> ",
            r"unasked\.reply": "> {process} C, heat {heater}, lamp {lamp}",
            r"ask\.send": "", r"words\.(heater|lamp):": "OFF, ON", r"words\.": "",
            r"heater\.send": "heat {value}", r"heater\.reply": "done", r"lamp\.send": "lamp {value}",
            r"lamp\.reply": "done", r"output: ": in_turn("lamp", "", ""), r"heater\.holds: Is it": "n",
            r"alive\.send": "again", r"alive\.reply": "done", "drops_after": "5 s",
        },
        "codes": {
            "^kind": "1", "baud": "9600", "parity": "none", r"relays\.address": "4",
            r"relays\.register: Does": "y", r"device\.sensors: is": "n",
            r"port\.rs485, anything": in_turn("gap", ""), r"\.gap": "50 ms",
            r"process\.register": "40005", r"process\.format": "uint16", r"process\.scale": "0.25",
            r"signal\.process, anything": in_turn("mask", ""), r"process\.mask": "0x0FFF",
            r"process\.fault.*y/n": "y", r"fault\.register": "40005", r"fault\.bit": "-",
            r"process\.fault, anything": in_turn("mask", ""), r"fault\.mask": "0xF000",
            r"door_open.*y/n": "y", r"door_open\.register": "40006", r"door_open\.inverted": "n",
            r"signal\.door_open, anything": in_turn("yes", "no", ""), r"door_open\.yes": "2, 3",
            r"door_open\.no": "1",
            r"heater\.register": "40001", r"heater\.bit": "", r"heater\.on": "0x100", r"heater\.off": "0x200",
            r"output\.(heater|lamp), anything": in_turn(*("reads_on", "reads_off", "") * 2),
            r"reads_on": "1", r"reads_off": "0", r"lamp\.on": "0x100", r"lamp\.off": "0x200",
            r"output: ": in_turn("lamp", "", ""), r"lamp\.register": "40002", r"lamp\.bit": "",
            "identity.*y/n": "y", r"identity\.register": "40021", "expect": "2B02h", "^dead_man:": "y",
            r"heater\.holds: Is it": "n", r"dead_man\.register": "40011", r"dead_man\.write": "5",
            "drops_after": "5 s",
        },
        "tens": {
            "^kind": "5", r"relays\.address": "0", r"process\.register": "100", r"process\.format": "uint32",
            r"process\.word_order": "BADC", r"process\.scale": "0.001", r"process\.offset": "-273.15",
            r"heater\.table": "holding", r"heater\.register": "10", r"heater\.bit": "",
            r"heater\.on": "10000",
            r"heater\.kind": "y", r"output\.heater, anything": in_turn("step", ""), r"heater\.step": "10",
            "lamp.*y/n": "y", r"lamp\.register": "0", "^dead_man:": "y", r"heater\.holds: Is it": "n",
            r"dead_man\.register": "11", r"dead_man\.write": "1", "drops_after": "4 s",
        },
        "text-panel": {
            **text, "baud": "9600", r"\.line_end": "CR", "open_words": "SBR", r"heater\.park: Is it": "y",
            r"ask\.send": in_turn("PV", "SP", "O", "X", ""),
            r"ask\.reply": in_turn("PV {process}", "SP {heater}", "O {live}", "X {lamp}"), r"words\.": "",
            r"heater\.send": "SP {value:000.0}", r"heater\.reply": "SP {value:000.0}", "park": "0 C",
            r"heater\.highest": "1100 C",
            "link_loss": "drops", r"signal: ": in_turn("heater_live", ""), r"heater_live\.field": "live",
            r"output\.heater, anything": in_turn("step", ""), r"heater\.step": "0.1",
            r"output: ": in_turn("lamp", "", ""), r"lamp\.send": "X {value}", r"lamp\.reply": "X {value}",
            "^dead_man:": "n",
        },
    }  # fmt: skip
    return {name: {r"\.path": path, **said, **PLATE} for name, said in told.items()}
