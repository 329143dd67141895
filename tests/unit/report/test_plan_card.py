"""The card of a plan, to hang at the oven: what will be done, step by step."""

from pathlib import Path

import pytest

from kilnctl.cli.main import run


@pytest.mark.slow
def test_the_card_has_every_step_and_the_caution(own_home: Path, tmp_path: Path) -> None:
    out = tmp_path / "card.html"
    assert run(["plan", "gouge-o1-six", "--oven", "hardening-furnace", "--card", str(out)]) == 0
    said = out.read_text(encoding="utf-8")
    for words in ("gouge-o1-six", ">800<", "Planned: hardened from 800 °C", "The independent limit"):
        assert words in said
    assert ">at most " in said
    assert " limit<" not in said
    assert said.count('class="warned"') == 3, "what to know before: its title, each warning by itself"
