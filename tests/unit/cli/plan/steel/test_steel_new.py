"""steel new as a newcomer walks it, at a terminal: what can hardly be is asked once more."""

import os
import sys
from pathlib import Path

import pytest
from typist import Typist

ANSWERS = {
    "Grade": "my-95",
    "Kind": "plain",
    "What is it for": "knives",
    "Where do": "sheet of the mill, 2019",
    "Soak": "10-15 min",
    "Too hot": "",
    "And another": "",
    "Up to": "6 mm",
    "Quench": "fast oil",
    "Another source": "",
    "Carbon": "0,95",
    "Temper and": "205 C: 61-62",
}


@pytest.mark.parametrize(
    ("heat", "stand_by", "code", "written"),
    [
        ("790-815 C", "", 0, True),
        ("95 C to 100 C", "", 2, False),  # the slip of a newcomer: per cent in the place of degrees
        ("95 C to 100 C", "y", 0, True),
    ],
)
def test_numbers_that_can_hardly_be_are_written_only_on_a_word(
    heat: str, stand_by: str, code: int, written: bool, own_home: Path
) -> None:
    env = {**os.environ, "KILNCTL_HOME": str(own_home), "TERM": "dumb"}
    typist = Typist([sys.executable, "-m", "kilnctl", "steel", "new"], env)
    answers = {**ANSWERS, "Hardening heat": heat, "Write it all the same": stand_by}
    assert typist.go(answers, {}, timeout_s=60.0) == code, typist.text
    assert (own_home / "steels" / "my-95.toml").exists() is written
