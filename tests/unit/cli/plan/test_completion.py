"""Tab in three shells and the manual page, judged by the shells and by groff themselves."""

import os
import pty
import select
import shutil
import signal
import subprocess
import time
from pathlib import Path

import pytest

from kilnctl.cli.main import COMMANDS, run

TYPED = {
    "bash": "source {file}; COMP_WORDS=(kilnctl sim); COMP_CWORD=1; _kilnctl; echo ${{COMPREPLY[@]}}",
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
    assert "simulate" in done.stdout
    assert done.stderr == ""


def test_zsh_finishes_a_command_on_a_real_terminal(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """As the help says it: a file in a folder of fpath. The library's own file did nothing there."""
    if shutil.which("zsh") is None:
        pytest.skip("no zsh on this machine")
    assert run(["completion", "zsh"]) == 0
    (tmp_path / "_kilnctl").write_text(capsys.readouterr().out, encoding="utf-8")
    pid, line = pty.fork()
    if pid == 0:
        os.execvpe("zsh", ["zsh", "-f", "-i"], {**os.environ, "TERM": "dumb", "HOME": str(tmp_path)})
    said = b""
    try:
        for typed, wanted in (
            (f"fpath+={tmp_path}; autoload -U compinit; compinit -u; print lo''aded\n".encode(), b"loaded"),
            (b"kilnctl sim\t", b"kilnctl simulate "),
        ):
            os.write(line, typed)
            give_up_s = time.monotonic() + 30.0
            while wanted not in said and time.monotonic() < give_up_s:
                said += os.read(line, 4096) if select.select([line], [], [], 0.1)[0] else b""
            assert wanted in said, said
    finally:
        os.kill(pid, signal.SIGKILL)
        os.waitpid(pid, 0)
        os.close(line)


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
