"""A type of couple is taken however it is typed."""

import pytest

from kilnctl.cli.main import run


@pytest.mark.parametrize(
    "words",
    [
        ("couple", "800C", "k"),
        ("couple", "800C", "k", "--set-as", "j"),
        ("uncertainty", "200C", "PT100"),
        ("uncertainty", "200C", "pt100", "--wire", "Class a"),
        ("uncertainty", "800C", "n"),
    ],
)
def test_a_type_in_lower_case_is_that_type(
    words: tuple[str, ...], capsys: pytest.CaptureFixture[str]
) -> None:
    """A blind examiner was refused "k" and "PT100"."""
    assert run(["figure", *words]) == 0
    lower = capsys.readouterr().out
    written = {"k": "K", "j": "J", "n": "N", "PT100": "Pt100", "pt100": "Pt100", "Class a": "class A"}
    assert run(["figure", *(written.get(word, word) for word in words)]) == 0
    assert capsys.readouterr().out == lower


def test_a_type_that_is_none_is_still_refused(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["figure", "couple", "800C", "x"]) == 2
    assert '"x" is not one of K, J' in capsys.readouterr().err
