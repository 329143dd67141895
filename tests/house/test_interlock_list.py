"""Every interlock in the folder is in the explicit list, has a name of its own and both of its tests."""

import ast
import importlib
import inspect
from pathlib import Path

from house.source_tree import tree

import kilnctl.interlocks as room
from kilnctl.interlocks import INTERLOCKS

FOLDER = Path(room.__file__).parent
TESTS = Path(__file__).parents[1] / "unit" / "interlocks"
NOT_INTERLOCKS = {"__init__", "contract", "thresholds", "alarms", "stands_still", "held_share"}


def modules():
    return sorted(path.stem for path in FOLDER.glob("*.py") if path.stem not in NOT_INTERLOCKS)


def interlocks_of(module):
    found = importlib.import_module(f"kilnctl.interlocks.{module}")
    return {
        kind
        for _, kind in inspect.getmembers(found, inspect.isclass)
        if kind.__module__ == found.__name__ and hasattr(kind, "check")
    }


def test_every_interlock_of_the_folder_is_in_the_list():
    assert set().union(*map(interlocks_of, modules())) == set(INTERLOCKS)


def test_every_module_has_an_interlock_and_a_test_file():
    for module in modules():
        assert interlocks_of(module), module
        assert (TESTS / f"test_{module}.py").is_file(), module


def test_names_are_different():
    assert len({kind.kind for kind in INTERLOCKS}) == len(INTERLOCKS)
    assert len({kind.label for kind in INTERLOCKS}) == len(INTERLOCKS)


def test_every_interlock_is_tripped_and_nearly_missed_by_its_tests():
    for kind in INTERLOCKS:
        module = kind.__module__.rpartition(".")[2]
        written = tree(TESTS / f"test_{module}.py").body
        tests = [n for n in written if isinstance(n, ast.FunctionDef) and n.name.startswith("test_")]
        using = "".join(ast.unparse(test) for test in tests if kind.__name__ in ast.unparse(test))
        assert "is None" in using, f"{kind.__name__} has no near miss"
        verdicts = ("is not None", ".at_s", ".reason", ".reaction", ".reset", ".repeat_step", "isinstance")
        assert any(verdict in using for verdict in verdicts), f"{kind.__name__} is never tripped"
