"""Upper limits of couple wire by thickness: ASTM E230 and MNL 12 as three sensor makers print them."""

import pytest

from kilnctl.care.couple_wire import GAUGES, say_wire, thinnest
from kilnctl.cli.main import run


@pytest.mark.parametrize(
    ("couple", "at_c", "awg"),
    [
        ("K", 1080.0, 14),
        ("K", 980.0, 20),
        ("N", 981.0, 14),
        ("K", 860.0, 28),
        ("J", 500.0, 14),
        ("S", 1080.0, 24),
    ],
)
def test_the_thinnest_wire_for_a_heat(couple: str, at_c: float, awg: int) -> None:
    found = thinnest(couple, at_c)
    assert found is not None
    assert found.awg == awg


def test_none_will_do() -> None:
    assert thinnest("J", 800.0) is None
    assert "take type S, R or B" in say_wire("J", 800.0)


def test_the_thicker_the_wire_the_hotter_it_may_be() -> None:
    for couple in "KNJET":
        limits = [gauge.limit_c[couple] for gauge in GAUGES]
        assert limits == sorted(limits)


def test_20_awg_at_1080_degrees_is_told(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["figure", "uncertainty", "1080C", "K"]) == 0
    told = " ".join(capsys.readouterr().out.split())
    assert "14 AWG (1.6 mm) or thicker" in told
    assert "20 AWG to 980 °C" in told
