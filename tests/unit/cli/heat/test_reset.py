"""What a person says at a reset is in its record."""

import pytest

from kilnctl.cli.heat import reset
from kilnctl.cli.main import run
from kilnctl.config.oven import find_oven
from kilnctl.errors import RunRefused


@pytest.mark.usefixtures("own_home")
@pytest.mark.parametrize("repaired", [False, True])
def test_a_repair_is_in_the_note(repaired: bool, monkeypatch: pytest.MonkeyPatch) -> None:
    told: list[object] = []

    def released(oven: object, note: str, said: bool, *_: object) -> None:
        told.extend([note, said])
        raise RunRefused("as far as this test goes")

    monkeypatch.setattr(reset, "latched_oven", lambda _name: find_oven("tempering-oven"))
    monkeypatch.setattr(reset, "reset_latch", released)
    words = ["reset", "--note", "relay replaced", "--time-scale", "20"]
    assert run([*words, "--repaired"] if repaired else words) == 3
    note = "relay replaced (repaired, independent limit reset by hand)"
    assert told == ([note, True] if repaired else ["relay replaced", False])
