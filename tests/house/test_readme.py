"""The README as a newcomer follows it: its commands in the order given, in an empty home."""

import re
import shlex
from pathlib import Path

import pytest

from kilnctl.cli.main import run
from kilnctl.guide.pages import pages
from tests.house.test_guide import FOLLOWED

TOP = Path(__file__).parents[2]
README = (TOP / "README.md").read_text(encoding="utf-8")
TRIPS = "--fault"  # the README says itself that a fault ends with a trip


def blocks(text: str) -> list[str]:
    return re.findall(r"```sh\n(.*?)```", text, re.S)


@pytest.mark.slow
@pytest.mark.usefixtures("own_home")
def test_the_readme_works_word_for_word(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    lines = [line for block in blocks(README) for line in block.splitlines() if line.startswith("kilnctl ")]
    assert lines
    for line in lines:
        code = run(shlex.split(line)[1:])
        said = capsys.readouterr()
        assert code == (4 if TRIPS in line else 0), f"{line}\n{said.err}"
    assert (tmp_path / "plan.pdf").read_bytes().startswith(b"%PDF")


def test_set_up_is_two_commands() -> None:
    assert sum("pip install" in block for block in blocks(README)) == 2


def test_what_a_page_calls_a_shell_command_is_run_by_a_test() -> None:
    """Blocks marked as sh are followed: by tests/faults/test_tutorial.py, and by test_guide beside this."""
    assert {page.topic for page in pages() if blocks(page.text())} == {"first-temper", *FOLLOWED}
