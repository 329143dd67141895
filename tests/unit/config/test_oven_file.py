"""Oven files: what is refused, and in which words."""

import re
from pathlib import Path

import pytest

from kilnctl.config.oven import Oven, load_oven
from kilnctl.errors import ConfigError
from kilnctl.tomlfile import loads

BUNDLED = sorted(Path("profiles/ovens").glob("*.toml"))
GOOD = Path("profiles/ovens/tempering-oven.toml").read_text(encoding="utf-8")


def refused(text: str) -> str:
    with pytest.raises(ConfigError) as e:
        loads(text, Oven, ConfigError, "oven.toml")
    return str(e.value)


def changed(old: str, new: str) -> str:
    assert old in GOOD
    return GOOD.replace(old, new, 1)


@pytest.mark.parametrize("path", BUNDLED, ids=lambda p: p.stem)
def test_bundled_ovens_load(path):
    assert load_oven(path).name == path.stem


def test_two_signals_on_one_address():
    said = refused(changed('table = "discrete"\nregister = 0', 'table = "discrete"\nregister = 1'))
    assert "signal.heater_live and signal.door_open share discrete 1 of board; one of them is wrong" in said


def test_feedback_on_the_heaters_own_coil_is_memory_not_a_contact():
    said = refused(changed('table = "discrete"\nregister = 1', 'table = "coil"\nregister = 0'))
    assert "signal.heater_live and output.heater share coil 0 of board" in said


def test_a_two_register_value_that_overlaps():
    said = refused(
        changed('format = "int16"', 'format = "float32"')
        + '\n[signal.second]\ndevice = "board"\ntable = "input"\nregister = 1\nunit = "C"\n'
        'low = "0 C"\nhigh = "400 C"\n'
    )
    assert "signal.process and signal.second share input 1 of board" in said


def test_sensor_range_below_the_limit():
    said = refused(changed('high = "400 C"', 'high = "250 C"'))
    assert "signal.process.high 250 C must lie above the limit 260 C" in said


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('limit = "260 C"\n', "", "limit: is missing and has no default"),
        ('limit = "260 C"', "limit = 260", r'limit: 260 needs a unit: write "260 C" \(= 500.0 F\)'),
        ("register = 0", "regster = 0", "signal.process.regster: unknown key"),
        ("baud = 115200", 'baud = "115200"', "port.bus.baud"),
        ("address = 1", "address = 300", "device.board.address"),
        ("address = 1", "address = 255", "device.board.address: must be 1 to 247 or 0 or 255, behind tcp://"),
        ("address = 1", "address = 248", "device.board.address: must be 1 to 247$"),
        ('device = "board"', 'device = "bord"', '"bord" is no device of this file'),
        ('drops_after = "10 s"', "", "dead_man.drops_after: is missing and has no default"),
    ],
)
def test_mistakes_are_one_clear_line_with_line_number(old, new, said):
    message = refused(changed(old, new))
    assert re.search(said, message)
    assert message.startswith("oven.toml")


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('limit = "260 C"', 'limit = "2600 C"', "limit: must lie between 40 C and 1400 C"),
        ('power = "1200 W"', 'power = "1200 kW"', "power: must lie between 10 W and 100 kW"),
        (
            'tune_ceiling = "240 C"',
            'tune_ceiling = "270 C"',
            "tune_ceiling must lie between",
        ),
        ('low = "-30 C"', 'low = "30 C"', "signal.process.low 30 C must not lie above ambient"),
        ('low = "-30 C"', 'low = "410 C"', "write low below high"),
        ("scale = 0.1", "scale = 0", "scale must not be 0"),
        (
            "register = 0\n\n[output.contactor]",
            "register = 0\noff = 1\n\n[output.contactor]",
            "on and off are both 1",
        ),
        ('window = "10 s"', 'window = "0.5 s"', "min_on and min_off must not be longer than the window"),
        ('drops_after = "10 s"', 'drops_after = "1000 h"', "drops_after: must lie between 0.2 s and 60 s"),
        ('drops_after = "10 s"', 'drops_after = "1 s"', "drops_after must be longer than a tick (1 s)"),
        ("write = 10", "write = 0\nzero_drops = true", "write must not be 0 where a 0 drops the heat"),
        ('name = "tempering-oven"', 'name = "../oven"', "a name has 1 to 60 characters, no /"),
        (
            'isolator = "red switch beside the workshop door"',
            'isolator = " "',
            "cut by hand",
        ),
    ],
)
def test_values_that_no_shop_has_are_refused(old, new, said):
    assert said in refused(changed(old, new))


def with_open_values(form: str, written: str) -> str:
    text = changed('format = "int16"', f'format = "{form}"')
    at = text.index("open_values = [") + len("open_values = [")
    return text[:at] + written + text[text.index("]", at) :]


@pytest.mark.parametrize(
    ("form", "written", "read"),
    [
        ("float32", "-1000.0", -1000.0),
        ("float32", "-999.9", -999.9000244140625),  # what IEEE 754 single has for it
        ("float64", "-999.9", -999.9),
        ("int16", "-9999", -9999),
        ("int16", "55537.0", -9999),
    ],
)
def test_a_broken_sensor_may_be_told_by_a_number_with_decimals(form, written, read):
    """A panel with floats prints -1000.0; a whole number is the same number."""
    text = with_open_values(form, written)
    assert loads(text, Oven, ConfigError, "oven.toml").signal.process.open_values == (read,)


@pytest.mark.parametrize(
    ("form", "written", "said"),
    [
        ("int16", "-999.9", "raw numbers of int16 are whole, before the scale"),
        ("float32", "nan", "no reading anyway"),
        ("float32", "1e300", "does not fit float32"),
    ],
)
def test_a_number_that_no_such_register_can_hold_is_refused(form, written, said):
    assert said in refused(with_open_values(form, written))
