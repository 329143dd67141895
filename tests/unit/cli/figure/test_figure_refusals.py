"""What cannot be is refused in one line with exit code 2, and nothing is printed as an answer."""

import pytest
from heats import a_book, ruled_run

from kilnctl.cli.main import run

BAD = [
    # no unit, two units, a foreign one
    ("equal", "218", "2h", "230C"),
    ("equal", "218 C F", "2h", "230C"),
    ("equal", "218K", "2h", "230C"),
    ("equal", "218C", "2", "230C"),
    ("through", "6", "205C"),
    ("through", "6 mm in", "205C"),
    # below absolute zero, hotter than any oven
    ("equal", "-300C", "2h", "230C"),
    ("quenched", "800C", "--steel", "1095", "--cold", "-300 C"),
    ("quenched", "800C", "--steel", "1095", "--cold", "-500F"),
    ("hardness", "1500C", "1h", "--steel", "O1"),
    ("couple", "9000C", "K"),
    # negative or no time
    ("equal", "218C", "-2h", "230C"),
    ("equal", "218C", "0 min", "230C"),
    ("hardness", "218C", "-1 h", "--carbon", "0.8"),
    ("cooling", "0 s"),
    ("dose", "10 min = 20 C", "5 min = 200 C", "--as", "200C"),
    ("dose", "0 min = 20 C", "--as", "200C"),
    ("dose", "0 min 20 C", "5 min = 200 C", "--as", "200C"),
    ("dose", "-5 min = 20 C", "5 min = 200 C", "--as", "200C"),
    ("dose", "0 min = 20 C", "5 min = 200 C", "--as", "200C", "--run", "1"),
    ("dose", "0 min = 20 C", "5 min = 200 C", "--as", "200C", "--since", "1h"),
    ("dose", "--run", "1", "--as", "200C", "--since", "50h"),
    ("dose", "--run", "99", "--as", "200C"),
    ("dose", "--as", "200C"),
    ("through", "6mm", "205C", "--rate", "-30C/h"),
    ("hardness", "205C", "99999h", "--steel", "O1"),
    # no temper, no cold, no place for terminals
    ("equal", "205C", "2h", "1300C"),
    ("dose", "0 min = 20 C", "5 min = 900 C", "--as", "200C"),
    ("quenched", "845C", "--steel", "52100", "--cold", "100C"),
    ("couple", "830C", "K", "--terminals", "900C"),
    ("couple", "830C", "K", "--head", "-90C"),
    ("couple", "1390C", "J", "--set-as", "K", "--shown"),
    ("boiling", "--pressure", "940 psi"),
    # out of reach
    ("temper", "62", "--steel", "440C"),
    ("temper", "68", "--steel", "O1"),
    ("temper", "68", "--carbon", "0.8"),
    ("temper", "25", "--carbon", "0.8"),
    ("temper", "60", "--carbon", "0.3"),
    ("temper", "60", "--carbon", "0.8", "--time", "5s"),
    ("hardness", "700C", "1h", "--carbon", "0.8"),
    ("hardness", "20C", "1h", "--steel", "O1"),
    ("equal", "600C", "10h", "100C"),
    ("quenched", "800C", "--steel", "A2"),
    ("hardness", "760C", "1h", "--steel", "O1"),
    ("quenched", "600C", "--steel", "1095"),
    ("oven", "tempering-oven", "1200C"),
    ("oven", "tempering-oven", "205C", "--down-to", "10C"),
    ("oven", "no-such-oven", "205C"),
    # no hardness, no steel, no carbon, both
    ("temper", "hard", "--steel", "O1"),
    ("temper", "62-60", "--steel", "O1"),
    ("temper", "600", "--steel", "O1"),
    ("temper", "60", "--steel", "unobtainium"),
    ("temper", "60"),
    ("temper", "60", "--steel", "O1", "--carbon", "0.9"),
    ("temper", "60", "--steel", "O1", "--time", "2h"),
    ("temper", "60", "--carbon", "nan"),
    ("temper", "60", "--carbon", "-0.8"),
    ("temper", "60", "--carbon", "8"),
    ("quenched", "--steel", "1095"),
    ("quenched", "800C", "--carbon", "0.8"),
    # absurd sizes and masses
    ("through", "-6mm", "205C"),
    ("through", "0 mm", "205C"),
    ("through", "9 cm 3 mm", "205C"),
    ("through", "5000mm", "205C"),
    ("through", "6mm", "205C", "--within", "500K"),
    ("through", "6mm", "205C", "--within", "-5K"),
    ("through", "6mm", "15C"),
    ("through", "6mm", "205C", "--rate", "-30C/h"),
    ("through", "6mm", "205C", "--shape", "round", "--on-hearth"),
    ("through", "6mm", "205C", "--shape", "cube"),
    ("transfer", "1mm", "700C"),
    ("transfer", "1mm", "830C", "--floor", "10C"),
    ("transfer", "1mm", "830C", "--floor", "900C"),
    ("transfer", "1mm", "830C", "--took", "-1 s"),
    ("transfer", "100mm", "830C", "--floor", "60C"),
    ("bath", "0 kg", "830C", "--oil", "12L", "--start", "50C", "--flash", "180C"),
    ("bath", "0.3kg", "830C", "--oil", "12", "--start", "50C", "--flash", "180C"),
    ("bath", "0.3kg", "830C", "--oil", "0 L", "--start", "50C", "--flash", "180C"),
    ("bath", "0.3kg", "830C", "--oil", "12L", "--start", "170C", "--flash", "180C"),
    ("bath", "0.3kg", "830C", "--oil", "12L", "--start", "50C", "--flash", "180C", "--parts", "0"),
    ("bath", "0.3kg", "830C", "--oil", "12L", "--start", "50C", "--flash", "180C", "--parts", "100000000"),
    ("cooling", "3min", "--start", "600C"),
    # the heater and the sensors
    ("power", "2400", "230V"),
    ("power", "-2400 W", "230V"),
    ("power", "0 W", "230V"),
    ("power", "2400W", "0 V"),
    ("power", "2400W", "230V", "--price", "0.3"),
    ("power", "2400W", "230V", "--time", "1h", "--duty", "140"),
    ("power", "2400W", "230V", "--time", "1h", "--price", "-1"),
    ("power", "2400W", "230V", "--time", "1h", "--price", "inf"),
    ("boiling",),
    ("boiling", "--height", "650m", "--pressure", "940"),
    ("boiling", "--height", "650"),
    ("boiling", "--height", "650 km"),
    ("boiling", "--height", "50000m"),
    ("boiling", "--height", "-50000m"),
    ("boiling", "--pressure", "0"),
    ("boiling", "--pressure", "-940"),
    ("boiling", "--pressure", "29.9"),
    ("boiling", "--pressure", "nan"),
    ("couple", "830C", "Q"),
    ("couple", "830C", "K", "--head", "45C", "--swapped"),
    ("couple", "1399C", "T"),
    ("uncertainty", "830C", "B", "--wire", "special"),
    ("uncertainty", "830C", "K", "--drift", "-2K"),
    ("uncertainty", "830C", "K", "--drift", "2"),
    ("uncertainty", "830C", "K", "--uniformity", "5000K"),
    ("uncertainty", "830C", "Pt100"),
    ("uncertainty", "200C", "Pt100", "--wire", "class 1"),
    ("uncertainty", "200C", "K", "--wire", "class A"),
    ("survey", "800C", "796C"),
    ("survey", "800", "796", "803C"),
    ("survey", "800C", "796C", "80C"),
    ("bath", "0.3kg", "830C", "--oil", "12L", "--water", "12L", "--start", "50C"),
    ("bath", "0.3kg", "830C", "--start", "90C"),
    # lengths, rates, soaks
    ("weight",),
    ("weight", "300mm", "40mm"),
    ("weight", "300", "40mm", "6mm"),
    ("weight", "300mm", "40mm", "6mm", "2mm"),
    ("weight", "300mm", "40mm", "6mm", "--shape", "round"),
    ("weight", "300mm", "40mm", "6mm", "--pieces", "0"),
    ("weight", "300mm", "40mm", "6mm", "--price", "-1"),
    ("weight", "300m", "40mm", "6mm"),
    ("rate",),
    ("rate", "400"),
    ("rate", "0F/h"),
    ("rate", "400F/h", "--from", "20C"),
    ("rate", "400F/h", "--from", "20C", "--to", "20C"),
    ("rate", "400F/h", "--from", "20C", "--to", "800C", "--time", "2h"),
    ("rate", "--time", "2h"),
    ("growth", "300mm", "1300C"),
    ("growth", "300mm", "-40C"),
    ("growth", "300mm", "200C", "--steel", "O1"),
    ("growth", "0mm", "200C"),
    ("soak", "6mm", "--steel", "unobtainium"),
    ("soak", "6mm", "--steel", "O1", "--at", "1000C"),
    ("soak", "6", "--steel", "O1"),
    ("scale", "9000MPa"),
    ("couple", "99mV", "K"),
    ("couple", "32.6mV", "K", "--swapped"),
    ("couple", "32.6mV", "K", "--set-as", "J"),
    ("power", "3600W", "230V", "--ohms", "0"),
    ("power", "3600W", "230V", "--ohms", "-3"),
    ("power", "3600W", "230V", "--then", "40 min at 30"),
    ("power", "3600W", "230V", "--time", "1h", "--then", "40 min"),
    ("power", "3600W", "230V", "--time", "1h", "--then", "40 min at 300"),
    ("equal", "200C", "2h", "0h"),
    ("equal", "700C", "100h", "1s"),
    ("gas", "5kg", "dry-ice", "30"),
    ("gas", "5kg", "dry-ice", "0 m3"),
    ("gas", "5", "dry-ice", "30m3"),
    ("gas", "0kg", "dry-ice", "30m3"),
    ("gas", "5kg", "helium", "30m3"),
    ("pyrometer", "780C"),
    ("pyrometer", "780C", "--emissivity", "1.4"),
    ("pyrometer", "780C", "--emissivity", "0.85", "--set-to", "0"),
    ("pyrometer", "780C", "--emissivity", "0.85", "--micron", "400"),
    ("pyrometer", "-20C", "--emissivity", "0.85"),
    ("pyrometer", "1400C", "--emissivity", "0.05"),
]


@pytest.mark.parametrize("words", BAD, ids=" ".join)
def test_it_is_one_line_and_code_2(words, own_home, capsys: pytest.CaptureFixture[str]) -> None:
    if "--run" in words:
        with a_book(own_home) as book:
            ruled_run(book)
    assert run(("figure", *words)) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert said.err.startswith("kilnctl: ")
    assert said.err.count("\n") == 1


@pytest.mark.parametrize(
    ("words", "why"),
    [
        (("equal", "-300C", "2h", "230C"), "below absolute zero"),
        (("equal", "218C", "-2h", "230C"), "cannot be negative"),
        (("transfer", "1mm", "830C", "--took", "-3s"), "cannot be negative"),
        (("equal", "218", "2h", "230C"), 'write "218 C" (= 424.4 F) or "218 F"'),
        (("temper", "68", "--carbon", "0.8"), "out of reach"),
        (("hardness", "20C", "1h", "--steel", "O1"), "the ladders of O1 go"),
        (("quenched", "600C", "--steel", "1095"), "760-815 C"),
        (("temper", "60", "--steel", "O1", "--carbon", "0.9"), "either --steel O1 or --carbon"),
        (("transfer", "100mm", "830C", "--floor", "60C"), "more than an hour"),
        (("oven", "tempering-oven", "1200C"), "limit of 260 C"),
    ],
)
@pytest.mark.usefixtures("own_home")
def test_the_line_says_what_is_wrong(words, why: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(("figure", *words)) == 2
    assert why in capsys.readouterr().err


def test_both_scales_ask_the_same(own_home, capsys: pytest.CaptureFixture[str]) -> None:
    """218 degC is 424.4 degF, 5 K are 9 degF, a quarter inch is 6.35 mm."""
    answers = []
    for size, at, near in (("6.35 mm", "218 C", "5 K"), ("0.25 in", "424.4 F", "9 F")):
        assert run(("figure", "through", size, at, "--within", near)) == 0
        answers.append(capsys.readouterr().out)
    assert answers[0] == answers[1]
    assert "218 °C (424 °F)" in answers[0]


def test_degrees_of_a_limit_are_said_to_be_a_difference(capsys: pytest.CaptureFixture[str]) -> None:
    """SI Brochure, 9th edition, 2.3.1: an interval may be given in °C as in K."""
    said = "in C or F is a difference"
    assert run(("figure", "uncertainty", "800C", "K", "--drift", "5C")) == 0
    assert said in " ".join(capsys.readouterr().out.split())
    assert run(("figure", "uncertainty", "800C", "K", "--drift", "5K")) == 0
    assert said not in " ".join(capsys.readouterr().out.split())
