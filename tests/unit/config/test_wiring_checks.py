"""Oven files that cannot be wired as written: one line each."""

from pathlib import Path

import pytest

from kilnctl.config.oven import Oven
from kilnctl.errors import ConfigError
from kilnctl.tomlfile import loads

GOOD = Path("profiles/ovens/tempering-oven.toml").read_text(encoding="utf-8")
HEATER = '[output.heater]\ndevice = "board"\ntable = "coil"\nregister = 0\n'
BOARD = '[device.board]\nport = "bus"\naddress = 1\n'
TEXT = (
    '[device.board]\nkind = "text"\nport = "bus"\nask = [{ send = "t", reply = "{process}" }]\n'
    "[device.board.tell]\n"
)


def refused(text: str) -> str:
    with pytest.raises(ConfigError) as e:
        loads(text, Oven, ConfigError, "oven.toml")
    return str(e.value)


def with_heater(lines: str) -> str:
    assert HEATER in GOOD
    return GOOD.replace(HEATER, f'[output.heater]\ndevice = "board"\n{lines}\n')


@pytest.mark.parametrize(
    ("heater", "said"),
    [
        ('table = "input"\nregister = 0', "output.heater: input cannot be written"),
        ('table = "holding"\nregister = 4\nbit = 2\non = 4', "output.heater: 4 does not fit one bit"),
        ('table = "holding"\nregister = 4\nbit = 2\non = 0\noff = 1', "in a register of bits off is 0"),
        ('table = "holding"\nregister = 4\nbit = 2\nkind = "duty"', "a duty is a whole register"),
        ('table = "holding"\nregister = 4\nformat = "bit"', "bit = 0 to 15 is one bit of a register"),
        ('table = "coil"', "output.heater: needs table and register"),
        ('field = "heater"', "output.heater: needs table and register"),
        ('table = "coil"\nregister = 0\nfield = "heater"', "output.heater: field is for text and line"),
        ('table = "coil"\nregister = 0\non = 2', "output.heater: 2 does not fit a coil"),
        # function 15 with a quantity of 1: it closed the first of two coils, and the heater was the second
        (
            'table = "coil"\nregister = 64\non = [0, 1]\noff = [0, 0]',
            "output.heater: two numbers each are two registers, and a coil is one bit",
        ),
        ('table = "holding"\nregister = 4\non = 40000', "output.heater: 40000 does not fit int16"),
        ('table = "holding"\nregister = 4\nkind = "pulse"', "a heater of kind pulse needs holds"),
        (
            'table = "holding"\nregister = 4\nkind = "pulse"\nholds = "1 s"',
            "output.heater.holds must be longer than a tick (1 s)",
        ),
        ('table = "coil"\nregister = 0\nholds = "3 s"', "holds is for kind pulse, duty or set-point"),
        (
            'table = "holding"\nregister = 4\nkind = "set-point"\nunit = "C"\npark = "0 C"\n'
            'link_loss = "holds"\nholds = "8 s"',
            'link_loss = "drops" goes with holds',
        ),
        ('table = "coil"\nregister = 0\npark = "0 C"', "park is only for kind set-point"),
        ('table = "coil"\nregister = 0\nhighest = "900 C"', "highest is only for kind set-point"),
        (
            'table = "holding"\nregister = 4\nkind = "set-point"\nunit = "C"\nlink_loss = "drops"',
            "a heater of kind set-point needs park",
        ),
        (
            'table = "holding"\nregister = 4\nkind = "set-point"\nunit = "C"\nlink_loss = "drops"\n'
            'park = "90 C"',
            "output.heater.park: must lie between -40 C and 40 C",
        ),
    ],
)
def test_heaters(heater, said):
    assert said in refused(with_heater(heater))


def test_a_bare_couple_without_its_cold_junction_or_letter():
    bare = GOOD.replace('unit = "C"', 'unit = "mV"', 1)
    assert "needs signal.cold_junction" in refused(bare)
    assert "needs couple" in refused(bare.replace('couple = "K"', 'couple = "other"'))


def test_bit_of_a_coil():
    said = refused(
        GOOD.replace('table = "discrete"\nregister = 1', 'table = "discrete"\nregister = 1\nbit = 0')
    )
    assert "signal.heater_live: bit is for registers; a discrete is one bit already" in said


def test_two_bits_of_one_status_word_are_two_places():
    text = GOOD.replace('table = "discrete"\nregister = 1', 'table = "input"\nregister = 9\nbit = 0')
    text = text.replace('table = "discrete"\nregister = 0', 'table = "input"\nregister = 9\nbit = 1')
    oven = loads(text, Oven, ConfigError, "oven.toml")
    assert oven.signal.door_open.where == "input 9 bit 1"


def test_a_bit_of_a_register_that_is_a_value_elsewhere():
    text = GOOD.replace('table = "discrete"\nregister = 1', 'table = "input"\nregister = 0\nbit = 0')
    assert "signal.process and signal.heater_live share input 0 of board" in refused(text)


@pytest.mark.parametrize(
    ("device", "said"),
    [
        ('[device.board]\nkind = "radio"\nport = "bus"\n', "device.board"),
        ('[device.board]\nkind = "line"\nport = "bus"\naddress = 1\n', "device.board.address: unknown key"),
        ('[device.board]\nkind = "line"\nport = "bus"\n', "table and register are for modbus devices"),
        (TEXT, "table and register are for modbus devices"),
        ('[device.board]\nport = "usb"\naddress = 1\n', 'device "board" names port "usb"'),
    ],
)
def test_devices(device, said):
    assert said in refused(GOOD.replace(BOARD, device))


def text_oven(tell: str = 'heater = { send = "h {value}", reply = "ok" }', process: str = "process") -> str:
    start = GOOD[: GOOD.index("[device.board]")]
    return (
        f'{start}{TEXT}{tell}\n[signal]\nprocess = {{ device = "board", field = "{process}", unit = "C", '
        'low = "-30 C", high = "400 C" }\n[output]\nheater = { device = "board", field = "heater" }\n'
    )


def test_text_devices_need_a_line_for_everything():
    assert "output.heater: no reply of ask has {heater}" in refused(text_oven())
    assert "output.heater: the device has no tell.heater" in refused(text_oven(tell=""))
    assert "signal.process: no reply of ask has {temp}" in refused(text_oven(process="temp"))


def test_no_dead_man_loads_but_says_so():
    oven = loads(GOOD[: GOOD.index("[dead_man]")], Oven, ConfigError, "oven.toml")
    assert not oven.has_dead_man
    assert loads(GOOD, Oven, ConfigError, "oven.toml").has_dead_man


LINE = GOOD[: GOOD.index("[device.board]")] + (
    '[device.board]\nkind = "line"\nport = "bus"\nname = "carver_bench"\n'
    '[signal]\nprocess = { device = "board", field = "process", unit = "C", low = "-30 C", high = "400 C" }\n'
    '[output]\nheater = { device = "board", field = "heater" }\n'
    '[dead_man]\ndevice = "board"\nwrite = 10\ndrops_after = "10 s"\n'
)


def test_a_line_board_loads():
    assert loads(LINE, Oven, ConfigError, "oven.toml").has_dead_man


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("write = 10", "write = 0", "write is the seconds of FED, 1 to 30"),
        ("write = 10", "write = 60", "write is the seconds of FED, 1 to 30"),
        ("write = 10", "write = 10\nzero_drops = true", "takes no FED 0"),
        ('drops_after = "10 s"', 'drops_after = "60 s"', 'write drops_after = "10 s"'),
        ('field = "heater"', 'field = "heater", on = 500', "a switch is 1 for on and 0 for off"),
        ('field = "heater"', 'field = "heater", kind = "duty", on = 500', "a duty is 1000 for on"),
        ('field = "heater"', 'field = "heater", on = 0, off = 1', "a switch is 1 for on and 0 for off"),
        ('field = "heater"', 'field = "heater", kind = "pulse", holds = "5 s"', "no pulse"),
        ("[device.board]", 'parity = "even"\n[device.board]', "no parity and one stop bit"),
        ("[device.board]", "stop_bits = 2\n[device.board]", "no parity and one stop bit"),
        ('"carver_bench"', '"carver bench"', "device.board"),
    ],
)
def test_what_the_line_protocol_does_not_have_is_refused_when_the_file_is_read(old, new, said):
    assert LINE.count(old) == 1
    assert said in refused(LINE.replace(old, new))


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("[dead_man]", "[dead_man]\ncounts_to = 255\nthen = 0", "neither then nor zero_drops"),
        ("[dead_man]", "[dead_man]\ncounts_to = 10", "counts_to must lie above write"),
        ("[device.board]", "data_bits = 7\n[device.board]", "Modbus RTU has 8 data bits"),
    ],
)
def test_what_only_some_boards_want_is_refused_where_it_cannot_be(old, new, said):
    assert GOOD.count(old) == 1
    assert said in refused(GOOD.replace(old, new))
    assert "are for Modbus" in refused(LINE.replace("[device.board]", 'frames = "ascii"\n[device.board]'))


@pytest.mark.parametrize(
    ("keys", "numbers"),
    [
        ("write = 7", [7, 7, 7]),
        ("write = 1\nthen = 0", [1, 0, 1, 0]),
        ("write = 0\ncounts_to = 2", [0, 1, 2, 0]),
    ],
)
def test_what_feeds_the_dead_man_comes_in_turn(keys, numbers):
    oven = loads(GOOD.replace("write = 10", keys), Oven, ConfigError, "oven.toml")
    last, made = None, []
    for _ in numbers:
        made.append(last := oven.dead_man.following(last))
    assert made == numbers
    assert oven.dead_man.following(99) == numbers[0]  # what another program has left there


BENCH = """name = "bench"
use = "tempering"
build = "leaky"
power = "1000 W"
limit = "200 C"
isolator = "red switch"
switching = { kind = "solid-state" }
port.p = { path = "/dev/p" }
device.board = { port = "p", address = 1 }
[signal.process]
device = "board"
table = "input"
unit = "C"
low = "-20 C"
high = "400 C"
register = 0
[output.heater]
device = "board"
table = "holding"
register = 3
on = 256
off = 512
"""
WATCHDOG = """
[dead_man]
device = "board"
table = "holding"
register = 9
write = {write}
then = {then}
drops_after = "5 s"
{shown}
"""


@pytest.mark.parametrize(
    ("write", "then", "shown", "timer"),
    [
        (1, 0, "", True),
        (0, 1, "", True),
        (1, 2, "", False),
        (0x55, 0xAA, "", False),
        (256, 512, "", True),  # on and off of this board's outputs: such numbers switch a contact
        (1, 0, "shown = true", False),
        (1, 2, "shown = false", True),
    ],
)
def test_two_numbers_that_switch_nothing_feed_a_watchdog_of_the_board(write, then, shown, timer) -> None:
    """They were taken for the edges of a timer: attended heats only, and nothing looked at the output."""
    text = BENCH + WATCHDOG.format(write=write, then=then, shown=shown)
    oven = loads(text, Oven, ConfigError, "bench.toml")
    assert oven.timer is timer
    assert oven.dead_man_seen is not timer
