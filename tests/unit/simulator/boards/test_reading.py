"""The count in the register: tenths of a degree, in steps of the module, open as the largest int16."""

from simulator.boards.fault_state import Flaws
from simulator.boards.reading import OPEN, Converter


def flawed(flaws: Flaws) -> int:
    converter = Converter(1, sigma_k=0.0, resolution_k=0.1, start_c=200.0)
    converter.convert_flawed(218.0, 20.0, flaws, 0.0, 1.0)
    return converter.count


def test_a_sound_conversion_counts_tenths_in_steps() -> None:
    converter = Converter(1, sigma_k=0.0, resolution_k=0.25, start_c=20.0)
    converter.convert(218.1)
    assert converter.count == converter.second == 2180
    assert converter.counter == 1


def test_each_flaw_shows_in_the_count() -> None:
    assert flawed(Flaws(sensor="open")) == OPEN == 2**15 - 1
    assert flawed(Flaws(sensor="frozen")) == 2000
    assert flawed(Flaws(sensor="short")) == 250  # the terminals: 5 K above the room
    assert flawed(Flaws(bias_k=-8.0)) == 2100
    assert flawed(Flaws(unit="fahrenheit")) == 4244  # 218 degC is 424.4 degF
