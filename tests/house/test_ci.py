"""One set of checks and one version: before a commit, where it is decided, and in what the package says."""

import os
import re
import subprocess
import tomllib
from pathlib import Path

import pytest

import kilnctl

TOP = Path(__file__).parents[2]
RUN = TOP / ".ci" / "run"
PROJECT = tomllib.loads((TOP / "pyproject.toml").read_text(encoding="utf-8"))
BEFORE_COMMIT = (TOP / ".ci" / "pre-commit.yaml").read_text(encoding="utf-8")


def test_the_version_stands_in_one_place() -> None:
    assert "version" not in PROJECT["project"]
    assert PROJECT["project"]["dynamic"] == ["version"]
    assert PROJECT["tool"]["hatch"]["version"]["path"] == "kilnctl/__init__.py"
    assert re.fullmatch(r"\d+\.\d+\.\d+", kilnctl.__version__)


def test_before_a_commit_the_checks_are_those_that_decide() -> None:
    (listed,) = re.findall(r"^for check in (.*); do$", RUN.read_text(encoding="utf-8"), re.M)
    checks = re.findall(r'"([^"]+)"', listed)
    assert len(checks) == 3
    entries = re.findall(r"entry: \.venv/bin/(.+)", BEFORE_COMMIT)
    assert entries[: len(checks)] == checks
    assert entries[len(checks) :] == ["python -m pytest -q tests/house"]


def test_every_room_of_tests_is_run_but_the_benches() -> None:
    rooms = {path.relative_to(TOP).parts[1] for path in (TOP / "tests").rglob("test_*.py")}
    listed = {Path(path).name for path in PROJECT["tool"]["pytest"]["ini_options"]["testpaths"]}
    assert listed == rooms - {"bench"}


@pytest.mark.parametrize("package", ["kilnctl", "simulator"])
def test_the_types_are_shipped(package: str) -> None:
    assert (TOP / package / "py.typed").is_file()


def test_the_lowest_python_is_the_one_that_lint_knows() -> None:
    assert PROJECT["project"]["requires-python"] == ">=3.11"
    assert PROJECT["tool"]["ruff"]["target-version"] == "py311"


def run_with(python: str, path: Path) -> subprocess.CompletedProcess[str]:
    environ = {**os.environ, "PATH": f"{path}:{os.environ['PATH']}"}
    return subprocess.run([RUN, python], env=environ, capture_output=True, text=True, check=False)


def test_another_python_is_taken_by_name(tmp_path: Path) -> None:
    """A stand-in notes how it was called and fails, so that nothing more is run."""
    stand_in = tmp_path / "python3.99"
    stand_in.write_text(f'#!/bin/sh\necho "$@" > {tmp_path}/asked\nexit 9\n')
    stand_in.chmod(0o755)
    assert run_with("python3.99", tmp_path).returncode == 9
    assert (tmp_path / "asked").read_text().strip() == "-m venv .venv"


def test_a_python_that_is_not_here_is_refused_in_one_line(tmp_path: Path) -> None:
    done = run_with("python0.1", tmp_path)
    assert (done.returncode, done.stderr) == (2, "python0.1: there is no such Python here\n")
