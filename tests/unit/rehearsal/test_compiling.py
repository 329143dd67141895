"""The compiled build: who may use it, when it is left alone, and that it changes nothing of a heat's record.

Whether verdicts of faulted heats are the same too is asked on demand: tests/bench/test_compiled_parity.py.
"""

import ast
import os
import subprocess
import sys
from importlib.machinery import EXTENSION_SUFFIXES
from pathlib import Path

import pytest

from kilnctl.cli.main import COMMANDS, REHEARSE
from kilnctl.rehearsal import compiled, compiling

TOP = Path(__file__).parents[3]
LOADED = """
import sys
from kilnctl.cli.main import run
for word in sys.argv[1:]:
    run([word, "--help"])
print("FINDERS", *(type(finder).__module__ for finder in sys.meta_path))
"""


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A place where a build of this source would lie, with one module in it that is no module at all."""
    monkeypatch.setenv("KILNCTL_HOME", str(tmp_path))
    monkeypatch.setattr(sys, "meta_path", [*sys.meta_path])
    tmp_path.chmod(0o700)
    build = compiled.build_folder()
    (build / "kilnctl" / "heat").mkdir(parents=True)
    (build / "kilnctl" / "heat" / f"never_there{EXTENSION_SUFFIXES[0]}").write_bytes(b"")
    return build


def test_its_modules_are_found_before_the_source(folder: Path) -> None:
    assert compiled.use()
    found = sys.meta_path[0].find_spec("kilnctl.heat.never_there", None)
    assert found is not None
    assert found.origin == str(next(folder.rglob("*.so")))
    assert sys.meta_path[0].find_spec("kilnctl.heat.runner", None) is None


def test_one_of_another_source_is_left_alone(folder: Path) -> None:
    folder.rename(folder.with_name("0" * 24))
    assert not compiled.use()


def test_any_line_of_the_source_makes_another_key(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for package in compiled.PACKAGES:
        (tmp_path / package).mkdir()
    (tmp_path / "simulator" / "a.py").write_text("x = 1\n", encoding="utf-8")
    monkeypatch.setattr(compiled, "TOP", tmp_path)
    before = compiled.source_key()
    assert compiled.source_key() == before
    (tmp_path / "simulator" / "a.py").write_text("x = 2\n", encoding="utf-8")
    after = compiled.source_key()
    (tmp_path / "simulator" / "a.py").rename(tmp_path / "simulator" / "b.py")
    assert len({before, after, compiled.source_key()}) == 3


@pytest.mark.parametrize("above", [0, 1, 2])
def test_one_that_others_could_have_written_is_left_alone(folder: Path, above: int) -> None:
    [folder, *folder.parents][above].chmod(0o777)
    assert not compiled.use()


def test_half_of_it_is_never_loaded(folder: Path) -> None:
    there = folder / "kilnctl" / "rehearsal"
    there.mkdir()
    (there / f"compiled{EXTENSION_SUFFIXES[0]}").write_bytes(b"")  # a module that is loaded from its source
    assert not compiled.use()


@pytest.mark.parametrize("words", ["run off tune commission simulate", "dry-run", "prove"])
def test_only_what_heats_nothing_uses_it(folder: Path, words: str) -> None:
    """Those that may not share a process. Broken on purpose: with "simulate" in REHEARSE this fails."""
    asked = [sys.executable, "-c", LOADED, *words.split()]
    said = subprocess.run(asked, env=dict(os.environ), capture_output=True, text=True, check=True).stdout
    uses = "kilnctl.rehearsal.compiled" in said.splitlines()[-1]
    assert uses == (words in REHEARSE)


def test_they_are_commands_that_heat_nothing() -> None:
    assert set(REHEARSE) == {"dry-run", "prove"}
    assert set(REHEARSE) <= set(COMMANDS)


def test_nothing_that_speaks_to_a_device_or_leaves_a_mark_is_compiled() -> None:
    sources = compiling.sources()
    assert len(sources) > 80
    for room in ("processes", "permits", "marks", "commissioning", "cli", "dashboard"):
        assert not [path for path in sources if path.startswith(f"kilnctl/{room}/")]
    for path in sources:
        assert "import serial" not in (TOP / path).read_text(encoding="utf-8")


def test_what_belongs_to_a_class_says_so() -> None:
    """Compiled, a bare `kind = "..."` is no string when it is read from the class: nothing would equal it."""
    bare = [
        f"{path}: {node.name}.{ast.unparse(line)}"
        for path in compiling.sources()
        for node in ast.walk(ast.parse((TOP / path).read_text(encoding="utf-8")))
        if isinstance(node, ast.ClassDef) and not any("Enum" in ast.unparse(base) for base in node.bases)
        for line in node.body
        if isinstance(line, ast.Assign) and ast.unparse(line.targets[0]) != "__slots__"
    ]
    assert bare == []


def test_what_is_left_out_is_there() -> None:
    for name in compiling.LEFT:
        assert (TOP / (name.replace(".", "/") + ".py")).is_file()


def test_the_record_is_the_stored_one_where_a_build_is_there() -> None:
    if not compiled.build_folder().is_dir():
        pytest.skip("no compiled build of this source: python -m kilnctl.rehearsal.compiling makes it")
    code = (
        "from kilnctl.rehearsal.compiled import use\nassert use()\n"
        "from tests.physics.test_stored_chains import *\n"
        "import kilnctl.heat.runner as r\nassert r.__file__.endswith('.so')\n"
        "test_the_record_of_a_heat_is_the_stored_one('model')\n"
    )
    subprocess.run([sys.executable, "-c", code], cwd=TOP, check=True)
