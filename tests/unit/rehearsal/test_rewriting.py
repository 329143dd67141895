"""What the compiler is given means what the source means: constants, values, and nothing else is touched."""

import ast
from typing import Any

from kilnctl.rehearsal import compiling
from kilnctl.rehearsal.rewriting import rewritten

SOURCE = '''"""A room."""

import math
from kilnctl.values import value

FULL, _HALF_K = 1.0, -1 / 2  # two at once
ON = True
NAMES = ("a", "b")
least = 3.0
LONG = (
    2.0
    * 30.0
)


@value
class Point:
    """A place."""

    x_m: float
    y_m: float | None = None
    name: str = "here"

    @property
    def far(self) -> bool:
        return self.x_m > FULL


class Other:
    limit = 3.0
'''


def run(text: str) -> dict[str, Any]:
    names: dict[str, Any] = {"__name__": "room"}
    exec(compile(text, "room.py", "exec"), names)
    return names


def test_it_means_the_same() -> None:
    was, now = run(SOURCE), run(rewritten(SOURCE))
    for name in ("FULL", "_HALF_K", "ON", "NAMES", "least", "LONG"):
        assert now[name] == was[name]
    for made in (was["Point"], now["Point"]):
        assert (made(2.0).far, made(0.5, y_m=1.0).far) == (True, False)
        assert made(1.0) == made(x_m=1.0, y_m=None, name="here") != made(1.0, 2.0)
        assert len({made(1.0), made(1.0)}) == 1
    assert repr(was["Point"](1.0)) == repr(now["Point"](1.0))


def test_numbers_in_capitals_become_final_and_nothing_else() -> None:
    text = rewritten(SOURCE)
    assert "FULL: Final = 1.0\n_HALF_K: Final = -1 / 2\n" in text
    assert "LONG: Final = 2.0 * 30.0\n" in text
    assert all(
        line in text for line in ("ON = True\n", 'NAMES = ("a", "b")\n', "least = 3.0\n", "    limit = 3.0\n")
    )


def test_a_value_is_a_class_that_the_compiler_knows() -> None:
    made = next(n for n in ast.parse(rewritten(SOURCE)).body if isinstance(n, ast.ClassDef))
    assert [ast.unparse(d) for d in made.decorator_list] == [
        "final",
        "dataclass(init=False, unsafe_hash=True)",
    ]
    assert "def __init__(self, x_m: float, y_m: float | None=None, name: str='here')" in ast.unparse(made)


def test_every_module_that_is_compiled_can_be_read_again() -> None:
    for path in compiling.sources():
        ast.parse(rewritten((compiling.TOP / path).read_text(encoding="utf-8")), path)
