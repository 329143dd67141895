"""No kind of heater that the file allows is out of reach of `oven new`, in any way, on any line."""

import re
from collections.abc import Callable

import pytest
from foreign.first_answers import PLATE, in_turn

from kilnctl.cli.oven.oven_file.asking.asking import Asker
from kilnctl.cli.oven.oven_file.file_text import written
from kilnctl.cli.oven.oven_file.templates import WAYS
from kilnctl.config.oven import Oven
from kilnctl.errors import ConfigError
from kilnctl.tomlfile import loads

MODBUS, TEXT, LINE = (1, 2, 3, 4, 5, 6, 10), (7, 8), (9,)
SERIAL, RTU_OVER_TCP, TCP = "/dev/ttyUSB0", "socket://127.0.0.1:4001", "tcp://127.0.0.1:21440"
MOST_ASKED = 110
KINDS = ("switch", "pulse", "duty", "set-point")
HAS_A_KIND = (2, 3, 6)  # ways of which the example is no switch: another kind is typed as such
TYPED_BY_NAME = {"switch": "kind", "pulse": "holds", "duty": "kind", "set-point": "park"}
WALK = [
    *((way, kind, path) for way in MODBUS for kind in KINDS for path in (SERIAL, RTU_OVER_TCP, TCP)
      if (way, path) != (5, SERIAL)),
    *((way, kind, path) for way in TEXT for kind in KINDS for path in (SERIAL, RTU_OVER_TCP)),
    *((way, kind, path) for way in LINE for kind in ("switch", "duty") for path in (SERIAL, RTU_OVER_TCP)),
]  # fmt: skip


def person(way: int, kind: str, path: str) -> Callable[[str], str]:
    """Answer as somebody with that sheet: what decides the kind is typed by its name."""
    by_name = "kind" if way in HAS_A_KIND else TYPED_BY_NAME[kind]
    full = {"switch": "1", "pulse": "20" if way == 2 else "1", "duty": "1000" if way in LINE else "100"}
    registers = {
        r"\.address": "3",
        r"\.register: Does": "n",
        r"process\.register": "1",
        r"cold_junction\.register": "3",
        r"heater\.register": "20",
        r"heater\.table": "coil" if full.get(kind) == "1" else "holding",
        r"\.parity": "none",
        r"\.counter\.register": "40",
    }
    lines = {
        r"ask\.send": in_turn("T?", ""),
        r"ask\.reply": "T={process} Q={heater}",
        r"heater\.send": "Q={value}",
        r"heater\.reply": "OK",
        r"words\.heater": "OFF, ON" if way == 8 and kind != "duty" else "",
    }
    told = {
        r"\.path": path, **(registers if way in MODBUS else lines if way in TEXT else {}),
        r"heater, anything": in_turn(by_name, ""), r"heater\.kind \[": kind,
        r"heater\.on": full.get(kind, "-"),
        r"heater\.holds: $": "5 s", r"heater\.park: $": "0 C", "link_loss": "drops", r"board\.name": "oven",
        r"heater\.highest": "1100 C",
        r"junction\.low": "-10 C", r"junction\.high": "80 C", "exponent.*y/n": "n",
        r"cold_junction.*y/n": "y" if way == 10 else "n", **PLATE,
    }  # fmt: skip
    asked: list[str] = []

    def ask(question: str) -> str:
        asked.append(question)
        assert len(asked) < MOST_ASKED, asked[-8:]
        said = next((said for words, said in told.items() if re.search(words, question)), "")
        return said if isinstance(said, str) else said()

    return ask


@pytest.mark.parametrize(("way", "kind", "path"), WALK)
def test_every_kind_of_heater_can_be_written(way: int, kind: str, path: str) -> None:
    """A board on a network with timed outputs could not be written: holds was offered, kind was not."""
    said: list[str] = []
    data = Asker(WAYS[way - 1], person(way, kind, path), said.append).file()
    oven = loads(written(data), Oven, ConfigError, "asked")
    assert oven.output.heater.kind == kind
    assert next(iter(oven.port.values())).path == path
    assert not [line for line in said if "Enter keeps" in line]
