"""The page before a heat: every line shown, one key each; an n or the end of input is a no."""

import pytest

from kilnctl.cli.heat import acknowledgement
from kilnctl.cli.terminal import console
from kilnctl.errors import RunRefused

LINES = ("The limit was tested on 2027-01-14.", "The heat goes off by itself (8 s).", "An adult stays.")


def page(monkeypatch, keys):
    pressed, said = iter(keys), []
    monkeypatch.setattr(console, "one_key", lambda: next(pressed))
    acknowledgement.acknowledge(LINES, "Alerts reach you by: horn tested 2027-01-14.", said.append)
    return said


def test_every_line_stands_on_the_page_before_the_first_key(monkeypatch, capsys) -> None:
    said = page(monkeypatch, "yyY")
    assert said[0].startswith("Alerts reach you by")
    assert [line.split("  ")[-1] for line in said[1:]] == list(LINES)
    assert capsys.readouterr().out.count("is true? [y/n] y") == 3


def test_an_enter_after_a_key_is_no_answer_to_the_next_line(monkeypatch) -> None:
    """Everybody types y and Enter: the second line was refused by the Enter of the first."""
    page(monkeypatch, "y\ny\ny")


@pytest.mark.parametrize(
    ("keys", "line"), [("n", 1), ("yn", 2), ("yy\n\r n", 3), ("yyx\x1bn", 3), (["y", ""], 2)]
)
def test_a_line_that_is_not_acknowledged_refuses_by_its_number(monkeypatch, keys, line) -> None:
    with pytest.raises(RunRefused, match=f"line {line} was not acknowledged; nothing was heated"):
        page(monkeypatch, keys)


def test_everything_that_is_missing_is_named_however_much_it_is() -> None:
    said: list[str] = []
    assert (
        acknowledgement.named(["drop test: expired 1 day ago"], said.append) == "drop test: expired 1 day ago"
    )
    assert said == []
    many = [f"step {n}: never done" for n in range(18)]
    assert acknowledgement.named(many, said.append) == "18 things are missing (named above)"
    assert [line.removeprefix("missing  ") for line in said] == many
