"""How far a bath stays under its flash point: 50 °F or 28 K, the US rule on quench tanks, OSHA 1910.126."""

import json

import pytest

from kilnctl.cli.main import run

BATH = ("figure", "bath", "0.3kg", "800C", "--oil", "10 L", "--start", "50C")


@pytest.mark.parametrize(
    ("more", "says"),
    [
        (("--flash", "180C"), "margin 120.6 K (217.1 °F) under the flash point of 180 °C"),
        (("--flash", "180C", "--parts", "12"), "TOO LITTLE, "),
        (("--flash", "180C", "--parts", "20"), "NONE: "),
    ],
)
def test_the_margin_to_the_flash_point_is_said(
    more: tuple[str, ...], says: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run([*BATH, *more]) == 0
    out = " ".join(capsys.readouterr().out.split())
    assert says in out
    assert "OSHA 1910.126" in out or says == "NONE: "


def test_the_margin_is_flash_point_less_the_warmest_oil(capsys: pytest.CaptureFixture[str]) -> None:
    assert run([*BATH, "--flash", "180C", "--parts", "3", "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert found["margin_k"] == pytest.approx(180.0 - found["after_each_c"][-1])
