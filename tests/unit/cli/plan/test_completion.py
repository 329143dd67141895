"""Tab in three shells and the manual page, judged by the shells and by groff themselves."""

import shutil
import subprocess
from pathlib import Path

import pytest

from kilnctl.cli.main import COMMANDS, run

TYPED = {
    "bash": "source {file}; COMP_WORDS=(kilnctl sim); COMP_CWORD=1; _kilnctl; echo ${{COMPREPLY[@]}}",
    "zsh": "zsh -n {file} && grep -c simulate {file}",
    "fish": "source {file}; complete -C 'kilnctl sim'",
}


@pytest.mark.parametrize("shell", TYPED)
def test_the_shell_finishes_a_command(shell: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    if shutil.which(shell) is None:
        pytest.skip(f"no {shell} on this machine")
    assert run(["completion", shell]) == 0
    file = tmp_path / "completion"
    file.write_text(capsys.readouterr().out, encoding="utf-8")
    done = subprocess.run(
        [shell, "-c", TYPED[shell].format(file=file)], capture_output=True, text=True, timeout=30, check=False
    )
    assert done.returncode == 0, done.stderr
    assert "simulate" in done.stdout or shell == "zsh"
    assert done.stderr == ""


def test_the_manual_page_is_one_and_has_every_command(capsys: pytest.CaptureFixture[str]) -> None:
    if shutil.which("groff") is None:
        pytest.skip("no groff on this machine")
    assert run(["guide", "--man"]) == 0
    page = capsys.readouterr().out
    done = subprocess.run(
        ["groff", "-man", "-Tutf8", "-ww", "-P-cbou"], input=page, capture_output=True, text=True, check=True
    )
    assert done.stderr == ""
    for command in COMMANDS:
        assert f"kilnctl {command}" in done.stdout.replace("‐", "-").replace("−", "-")
    assert "`" not in done.stdout
