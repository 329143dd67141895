"""A terminal without UTF-8: nothing fails for a letter, nothing moves, nothing turns into question marks."""

import io
import sys

import pytest
from house.texts import texts

from kilnctl.cli import main
from kilnctl.letters import alike


def test_every_letter_of_our_texts_has_something_alike() -> None:
    used = {letter for said in texts() for letter in said.words if not letter.isascii()}
    assert used
    assert {letter for letter in used if alike(letter, "ascii") == "?"} == set()


@pytest.mark.parametrize("encoding", ["ascii", "latin-1", "cp437"])
def test_a_plan_is_told_in_any_encoding(
    encoding: str, monkeypatch: pytest.MonkeyPatch, own_home: object
) -> None:
    bare, words = io.BytesIO(), ["kilnctl", "plan", "gouge-o1-temper", "--oven", "tempering-oven"]
    monkeypatch.setattr(sys, "stdout", io.TextIOWrapper(bare, encoding=encoding, write_through=True))
    monkeypatch.setattr(sys, "argv", words)
    with pytest.raises(SystemExit) as ended:
        main.main()
    assert ended.value.code == 0
    told = bare.getvalue().decode(encoding)
    assert "218" in told
    assert "?" not in told.replace("hot?", "")
    rows = [line for line in told.splitlines() if line and line[0] in "|│"]
    assert len({len(row) for row in rows}) == 1  # the columns stand
