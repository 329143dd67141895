"""Every option of every command, in every way that the command can go: it is used, or refused in one line.

The options are asked of the command line itself, so a new one without a row here fails.
"""

import ast
import hashlib
import inspect
import sqlite3
import textwrap
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from typing import Any, NamedTuple

import pytest
from cyclopts import App

from kilnctl.cli.main import COMMANDS, app
from kilnctl.cli.main import run as kilnctl

OVEN = "tempering-oven"
# What an option is tried with, where its command says nothing else: something that makes a difference.
USUAL = {
    "--json": (),
    "--out": ("page.html",),
    "--steel": ("O1",),
    "--carbon": ("0.9",),
    "--run": ("1",),
    "--who": ("Ada",),
    "--note": ("a note",),
    "--oven": (OVEN,),
    "--yes": (),
    "--time-scale": ("1",),  # the pace of real time is no less typed
}


class Way(NamedTuple):
    """One way that a command can go, by the words that lead there.

    `beside` names options that change nothing there and need not: a yes to a question that is not asked.
    """

    words: tuple[str, ...]
    beside: tuple[str, ...] = ()


POINTS = ("0 min = 20 C", "40 min = 205 C", "2h 40min = 205 C", "--as", "200 C")
CALIBRATE = (OVEN, "process", "--reference", "glass")
RAMP = ("--from", "20 C", "--to", "800 C", "--time", "2 h")
OIL = ("0.3 kg", "800 C", "--start", "40 C", "--oil", "10 L", "--flash", "180 C")
# Commands that can go more than one way: each of their ways, and what their options are tried with.
WAYS: dict[str, tuple[tuple[Way, ...], dict[str, tuple[str, ...]]]] = {
    "guide": ((Way(()), Way(("first-temper",))), {"--man": ()}),
    "steel": ((Way(()), Way(("O1",)), Way(("O1", "--json"))), {}),
    "steel show": ((Way(()), Way(("O1",)), Way(("O1", "--json"))), {}),
    "figure temper": ((Way(("60", "--steel", "O1")), Way(("60", "--carbon", "0.9"))), {"--time": ("1 h",)}),
    "figure dose": (
        (Way(POINTS), Way(("--run", "1", "--as", "200 C"))),
        {"--since": ("10 min",), "--until": ("20 min",)},
    ),
    "figure quenched": (
        (Way(("800C", "--steel", "1095")), Way(("--carbon", "0.9")), Way(("1010C", "--steel", "D2"))),
        {"--cold": ("-78 C",)},
    ),
    "figure through": (
        tuple(Way(("6 mm", "800 C", "--shape", shape)) for shape in ("plate", "square", "round")),
        {"--surface": ("foil",), "--within": ("9 K",), "--start": ("300 C",), "--rate": ("300 C/h",)}
        | {"--fan": (), "--on-hearth": ()},
    ),
    "figure transfer": (
        (Way(("10 mm", "800 C")), Way(("10 mm", "150 C", "--floor", "100 C"))),
        {"--floor": ("700 C",), "--air": ("60 C",), "--took": ("3 s",)},
    ),
    "figure bath": (
        (Way(OIL), Way(("0.3 kg", "800 C", "--start", "20 C", "--water", "10 L"))),
        {"--oil": ("5 L",), "--water": ("5 L",), "--flash": ("170 C",), "--highest": ("80 C",)}
        | {"--parts": ("3",)},
    ),
    "figure weight": (
        (Way(("300 mm", "40 mm", "6 mm")), Way(("300 mm", "20 mm", "--shape", "round"))),
        {"--shape": ("square",), "--metal": ("stainless",), "--pieces": ("2",), "--price": ("5",)},
    ),
    "figure rate": (
        (Way(("400 F/h",)), Way(("400 F/h", "--from", "20 C", "--to", "800 C")), Way(RAMP)),
        {"--from": ("30 C",), "--to": ("700 C",), "--time": ("3 h",)},
    ),
    "figure power": (
        (Way(("2400 W", "230 V")), Way(("2400 W", "230 V", "--time", "1 h"))),
        {
            "--measured": ("220 V",),
            "--ohms": ("25",),
            "--then": ("40 min at 30",),
            "--time": ("2 h",),
            "--duty": ("50",),
            "--price": ("0.3",),
            "--beside": ("1200 W",),
        },
    ),
    "figure boiling": (
        (
            Way(("--height", "650 m")),
            Way(("--pressure", "940")),
            Way(("--pressure", "940", "--reads", "98 C", "--ice", "1 C")),
        ),
        {
            "--height": ("600 m",),
            "--pressure": ("930",),
            "--reads": ("97 C",),
            "--ice": ("0.5 C",),
            "--couple": ("T",),
            "--wire": ("class 1",),
        },
    ),
    "figure couple": (
        tuple(
            Way(("800 C", "K", *fault))
            for fault in (
                (),
                ("--head", "60 C"),
                ("--copper-head", "60 C"),
                ("--swapped",),
                ("--set-as", "J"),
            )
        ),
        {"--set-as": ("J",), "--terminals": ("35 C",), "--head": ("50 C",), "--copper-head": ("50 C",)}
        | {"--swapped": (), "--uncompensated": (), "--shown": ()},
    ),
    "messages": ((Way(()),), {"--test": ()}),
    "runs": (
        (Way(()), Way(("--json",)), Way(("--out", "page.html")), Way(("--due",), beside=("--oven",))),
        {"--oven": ("hardening-furnace",), "--part": ("knife 1",), "--outcome": ("complete",), "--due": ()}
        | {"--since": ("2099-01-01",), "--until": ("2001-01-01",), "--text": ("nowhere",), "--limit": ("1",)},
    ),
    "part": ((Way(("knife 1",)), Way(("knife 1", "--json"))), {"--over-800": ("30 min",)}),
    "part test": (
        (Way(("knife 1", "--files", "55 skates")), Way(("knife 1", "--readings", "58.1, 58.4"))),
        {"--files": ("60 cuts",), "--readings": ("57.2",), "--block": ("60.0 reads 60.9",)}
        | {"--bare-metal": (), "--diameter": ("3/8 in",)},
    ),
    "export": (
        (
            Way(("1", "--out", "run.csv")),
            Way(("1", "--out", "run.html")),
            Way(("1", "--label", "a7", "--out", "label.pdf")),
            Way(("--all", "--out", "home.zip")),
        ),
        {"--format": ("png",), "--label": ("62mm",), "--all": ()},
    ),
    "verify": ((Way(()), Way(("1",)), Way(("1", "--json"))), {"--hash": ("0000-0000-0000-0000",)}),
    "care calibrate": (
        (
            Way((*CALIBRATE, "--low", "20 C is 21 C", "--high", "200 C is 202 C")),
            Way((*CALIBRATE, "--at", "200 C is 202 C")),
            Way((*CALIBRATE, "--ice", "0.5 C", "--boiling", "98 C at 650 m")),
        ),
        {"--low": ("20 C is 21 C",), "--high": ("200 C is 201 C",), "--at": ("200 C is 201 C",)}
        | {"--ice": ("0.4 C",), "--boiling": ("98.2 C at 650 m",), "--reference-error": ("2.2 K",)}
        | {"--used-to": ("200 C",), "--left": ("200 C is 201 C",)},
    ),
    "care ageing": ((Way((OVEN,)),), {"--volts": ("220",)}),
    "care remind": (
        (
            Way((OVEN, "relay", "--every", "20 h")),
            Way((OVEN, "relay", "--counter", "relay closures", "--limit", "9")),
        ),
        {"--every": ("30 h",), "--counter": ("relay closures",), "--limit": ("20",)},
    ),
    "commission": ((Way((OVEN, "--list")),), {"--step": ("heater",)}),
    "tune": (
        (Way((OVEN, "--changed"), beside=("--yes",)),),
        {"--from-run": ("1",), "--cooling": ("1",), "--changed": ()},
    ),
}
# These go one way, whatever is given; that each of their options is read at all is asked of their code.
ONE_WAY = {
    *("demo", "completion", "steel list", "steel choose", "steel new", "steel check", "recipe list"),
    *("recipe copy", "recipe check", "recipe new", "plan", "dry-run", "prove", "figure hardness"),
    *("figure scale", "figure equal", "figure cooling", "figure skin"),
    *("figure soak", "figure growth", "figure survey", "figure gas", "figure pyrometer"),
    *("figure oven", "figure uncertainty"),
    *("off", "answer", "adjust", "acknowledge", "shelve", "status", "part describe", "part bow"),
    *("part air-cool", "part note", "compare", "import", "oven list", "oven new", "oven check", "oven show"),
    "oven change",
    *("care due", "care survey", "care done", "care count", "care take-away", "simulate"),
}
# These need an oven, a screen or what was done before; each has a test of its own that refuses.
ELSEWHERE = {
    "run": "test_main_unused_options.py",
    "watch": "test_main_unused_options.py",
    "reset": "test_reset.py",
    "steel coupons": "test_coupon_page.py",
    "care fixed-point": "test_main_unused_options.py",
}


def leaves(node: App, path: tuple[str, ...] = ()) -> Iterator[tuple[str, Any]]:
    """Yield every command that does something: its words and its function."""
    for name in node:
        if not name.startswith("-"):
            below = node[name]
            if below.default_command is not None:
                yield " ".join((*path, name)), below.default_command
            yield from leaves(below, (*path, name))


FUNCTIONS = dict(leaves(app()))
TRIED = [(command, way) for command, (ways, _) in WAYS.items() for way in ways]


def options(command: str) -> list[str]:
    node = app()
    for word in command.split():
        node = node[word]
    names = [argument.names[0] for argument in node.assemble_argument_collection()]
    return [name for name in names if name.startswith("--")]


class Seen(NamedTuple):
    """What a command has done: its exit code, its words, and what it has kept."""

    code: int
    out: str
    err: str
    kept: dict[str, str]


@pytest.fixture
def seen(folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Any:
    """Run a command in a home as it was, from a folder of its own, and say what it did."""
    (book,) = folder.rglob("logbook.sqlite")
    before = book.read_bytes()

    def run(number: int, words: tuple[str, ...]) -> Seen:
        for beside in book.parent.glob("logbook.sqlite*"):
            beside.unlink()
        book.write_bytes(before)
        here = folder / str(number)
        here.mkdir()
        monkeypatch.chdir(here)
        capsys.readouterr()
        code = kilnctl(words)
        said = capsys.readouterr()
        kept = {p.name: hashlib.sha256(p.read_bytes()).hexdigest() for p in here.iterdir()}
        with closing(sqlite3.connect(book)) as db:
            kept["entries"] = str(db.execute("SELECT kind, subject, run, data FROM entry").fetchall())
        return Seen(code, said.out, said.err, kept)

    return run


def test_every_command_has_its_place_here() -> None:
    assert set(WAYS) | ONE_WAY | set(ELSEWHERE) == set(FUNCTIONS)
    assert set(COMMANDS) <= {words.split()[0] for words in FUNCTIONS}


@pytest.mark.parametrize(("command", "way"), TRIED, ids=[f"{c} {' '.join(w.words)}" for c, w in TRIED])
def test_each_option_is_used_or_refused(command: str, way: Way, seen: Any) -> None:
    values = USUAL | WAYS[command][1]
    base = (*command.split(), *way.words)
    without, untouched = seen(0, base), seen(1, ("--version",)).kept
    assert without.code == 0, without.err
    asked = [o for o in options(command) if o not in way.words and o not in way.beside]
    for number, option in enumerate(asked, start=2):
        words = (*base, option, *values[option])
        found = seen(number, words)
        if found.code == 2:
            assert found.err.startswith("kilnctl: "), words
            assert found.err.count("\n") == 1, words
            assert found.kept == untouched, words
        else:
            assert found != without, f"given and not used: {' '.join(words)}"


@pytest.mark.parametrize("command", sorted(FUNCTIONS))
def test_each_option_is_read(command: str) -> None:
    function = FUNCTIONS[command]
    (tree,) = ast.parse(textwrap.dedent(inspect.getsource(function))).body
    assert isinstance(tree, ast.FunctionDef)
    read = {n.id for n in ast.walk(tree) if isinstance(n, ast.Name) and isinstance(n.ctx, ast.Load)}
    assert set(inspect.signature(function).parameters) <= read
