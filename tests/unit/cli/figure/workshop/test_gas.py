"""figure gas: how much gas, and what it does to the air of a room."""

import pytest

from kilnctl.cli.main import run

pytestmark = pytest.mark.usefixtures("own_home")


@pytest.mark.parametrize(
    ("words", "verdict"),
    [
        (("5kg", "dry-ice", "30m3"), "DEADLY"),  # 2.7 m3 of gas, 9 %
        (("500g", "dry-ice", "30m3"), "TOO MUCH"),
        (("100g", "dry-ice", "30m3"), "within the limits"),
        (("10L", "nitrogen", "30m3"), "TOO LITTLE OXYGEN"),
        (("1L", "nitrogen", "1500ft3"), "within the limits"),
        (("5kg", "dry-ice", "4x3x2.5 m"), "DEADLY"),
    ],
)
def test_a_room_is_judged_by_its_gas_first(
    words: tuple[str, ...], verdict: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """0.5 % of carbon dioxide for a day, 4 % danger to life; 19.5 % of oxygen at least (from memory)."""
    assert run(("figure", "gas", *words)) == 0
    said = capsys.readouterr().out
    assert verdict in said
    assert "Outdoors" in said
