"""One word, one thing: no class is defined twice; but for the commands no file name stands in two rooms."""

import ast
import re
from collections import defaultdict
from collections.abc import Iterator
from pathlib import Path

from house.source_tree import tree

TOP = Path(__file__).parents[2] / "kilnctl"
COMMANDS = TOP / "cli"  # a file there bears the name of its command, as the code that carries it out may too
LONGEST_LINES = 350
# Words that have stood for several things at once: each may name one thing of the house, or none.
WORN_WORDS = {"look", "hands", "walk", "here", "running", "learned", "part", "view", "questions", "paper"}
# Those of them that are worn most: whatever bears one as its whole name is of this one kind.
ONE_KIND = {"look": {"ControlInput"}, "running": {"bool"}, "walk": set(), "here": set()}
# An oven is learned or not (the logbook has the number of the entry); what an interlock has seen is a tick.
ONE_KIND |= {"learned": {"bool", "int", "int | None"}, "seen": {"Observation"}}
# Good for what a function gathers for itself, not for what another function is handed: that has a noun.
WITHIN_A_FUNCTION = {"found", "said"}
# What every room does may be called so in every room: it is said with the room's name, as in `latch.read`.
SAID_WITH_ITS_ROOM = {"advance", "caution", "check", "judge", "keep", "lines", "main", "marks", "new"}
SAID_WITH_ITS_ROOM |= {"note", "page", "plan", "profile_of", "prove", "read", "run", "show", "start", "write"}


def modules() -> list[Path]:
    return [path for path in sorted(TOP.rglob("*.py")) if path.name != "__init__.py"]


def test_no_class_is_defined_twice() -> None:
    where = defaultdict(list)
    for path in modules():
        for node in tree(path).body:
            if isinstance(node, ast.ClassDef):
                where[node.name].append(str(path.relative_to(TOP)))
    assert {name: files for name, files in where.items() if len(files) > 1} == {}


def test_no_file_name_stands_in_two_rooms() -> None:
    where = defaultdict(list)
    for path in modules():
        if COMMANDS not in path.parents:
            where[path.stem].append(str(path.relative_to(TOP)))
    assert {stem: files for stem, files in where.items() if len(files) > 1} == {}


def test_a_worn_word_names_one_thing() -> None:
    where = defaultdict(set)
    for path in modules():
        if COMMANDS not in path.parents and path.stem in WORN_WORDS:
            where[path.stem].add(path.stem)
        for node in tree(path).body:
            if isinstance(node, ast.ClassDef | ast.FunctionDef) and node.name.lower() in WORN_WORDS:
                where[node.name.lower()].add(f"{path.relative_to(TOP)} {node.name}")
    assert {word: things for word, things in where.items() if len(things) > 1} == {}


def named_kinds(node: ast.AST) -> list[tuple[str, str]]:
    """Return names with what they name: a parameter's or field's type, a function, a class."""
    if isinstance(node, ast.FunctionDef | ast.ClassDef):
        return [(node.name, type(node).__name__)]
    if isinstance(node, ast.AnnAssign) and isinstance(node.target, ast.Name):
        return [(node.target.id, ast.unparse(node.annotation))]
    return [(node.arg, ast.unparse(node.annotation))] if isinstance(node, ast.arg) and node.annotation else []


def test_what_bears_a_worn_word_is_of_one_kind() -> None:
    """A look is what one look at an oven gives its controller, and nothing else in the house."""
    kinds = defaultdict(set)
    for path in modules():
        for node in ast.walk(tree(path)):
            for name, kind in named_kinds(node):
                kinds[name.strip("_").lower()].add(kind)
    assert {word: kinds[word] - known for word, known in ONE_KIND.items() if kinds[word] - known} == {}


def names_handed_on(module: ast.Module) -> Iterator[str]:
    """Yield the names of functions, their parameters, and fields: what one piece of code shows another."""
    for node in ast.walk(module):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef):
            yield node.name
        if isinstance(node, ast.arg):
            yield node.arg
        if isinstance(node, ast.ClassDef):
            yield from (
                n.target.id
                for n in node.body
                if isinstance(n, ast.AnnAssign) and isinstance(n.target, ast.Name)
            )
        if isinstance(node, ast.Attribute) and isinstance(node.ctx, ast.Store):
            yield node.attr


def test_what_is_handed_on_has_a_noun() -> None:
    """`found: Trip` is `trip`. Seen to fail on 27 and 34 places."""
    paths = [*modules(), *(TOP.parent / "simulator").rglob("*.py")]
    bare = {str(p): {n for n in names_handed_on(tree(p)) if n.strip("_") in WITHIN_A_FUNCTION} for p in paths}
    assert {path: names for path, names in bare.items() if names} == {}


def test_hands_are_a_person_s() -> None:
    """What drives an oven is its I/O: `oven_io`."""
    wires = [TOP / room for room in ("devices", "processes", "permits", "commissioning")]
    paths = [path for room in wires for path in room.rglob("*.py")]
    named = [path for path in paths if re.search(r"\b_?hands\b|Hands", path.read_text(encoding="utf-8"))]
    assert [str(path.relative_to(TOP)) for path in named] == []


def test_few_public_functions_are_called_alike() -> None:
    """Two may be, by chance; three make a word that says nothing. The command line's own are apart."""
    where = defaultdict(list)
    for path in modules():
        if COMMANDS not in path.parents:
            for node in tree(path).body:
                if isinstance(node, ast.FunctionDef) and not node.name.startswith("_"):
                    where[node.name].append(str(path.relative_to(TOP)))
    alike = {name: files for name, files in where.items() if len(files) > 2}
    assert {name: files for name, files in alike.items() if name not in SAID_WITH_ITS_ROOM} == {}


def test_no_module_grows_too_long() -> None:
    paths = [*modules(), *(TOP.parent / "simulator").rglob("*.py")]
    lines = {str(p.relative_to(TOP.parent)): len(p.read_text(encoding="utf-8").splitlines()) for p in paths}
    assert {name: count for name, count in lines.items() if count > LONGEST_LINES} == {}


# What a public function does by its first or last word: what it may be handed, what comes of it.
TEXTS = re.compile(r"(str|None|object|Any)( \| (str|None))*")
MANY = re.compile(r"(list|tuple|Iterator|Iterable|Sequence)\[")
# A page is lines of styled text, a socket's lines are its bytes; a line of the wire comes as text.
OTHER_LINES, WIRES = {"text_layout.py", "server.py"}, {"line_io.py", "wire.py"}


def of_a_kind(node: ast.FunctionDef) -> str:
    """Return what is wrong with the name of a public function; nothing where it keeps its word.

    parse: a text into a value. load: a file or an entry of the logbook into a thing that is checked; never
    into text. read: from a wire, a mark or a file. say, words, text: one text. lines: several. tell: it is
    told, nothing comes back.
    """
    first, _, last = node.name.partition("_")[0], "", node.name.rpartition("_")[2]
    given = ast.unparse(node.args.args[0].annotation or ast.Constant(None)) if node.args.args else ""
    gives = ast.unparse(node.returns or ast.Constant(None))
    if first == "parse":
        return "" if TEXTS.fullmatch(given.strip("'")) or "str" in given else "parses no text"
    if first == "load":
        return "loads a text" if gives.startswith("str") or "[str" in gives else ""
    if first == "say" or last in ("words", "text"):
        return "" if gives in ("str", "str | None") else f"says {gives}"
    if last == "lines":
        return "" if MANY.match(gives) and "str" in gives else f"{gives} is not lines"
    return "tells and answers" if first == "tell" and gives != "None" else ""


def test_a_verb_means_one_thing() -> None:
    """`read` is too wide to hold. Seen to fail on a `load_` that gave a text."""
    wrong = []
    for path in modules():
        for node in tree(path).body:
            if isinstance(node, ast.FunctionDef) and not node.name.startswith("_"):
                why = "" if path.name in OTHER_LINES | WIRES else of_a_kind(node)
                wrong += [f"{path.relative_to(TOP)}: {node.name}: {why}"] if why else []
    assert wrong == []


# Numbers of a file's own, the same elsewhere by chance: how often it looks, how much it takes at most.
OF_THE_FILE = {"COLDEST_C", "COLD_K", "KELVIN", "LARGEST", "LONGEST_S", "LOOK_S", "MEAN_S", "MOST", "OVER_K"}
OF_THE_FILE |= {"SHOWN", "STEP_S", "TELL_S", "WAIT_S"}
# Rooms whose thresholds are tuned and judged one by one, and that do not know each other.
ONE_BY_ONE = {"control", "interlocks"}


def constants(module: ast.Module) -> Iterator[tuple[str, str]]:
    """Yield the constants at the top of a module with their values, numbers as floats."""
    for node in module.body:
        if not isinstance(node, ast.Assign | ast.AnnAssign) or node.value is None:
            continue
        for target in node.targets if isinstance(node, ast.Assign) else [node.target]:
            both = isinstance(target, ast.Tuple) and isinstance(node.value, ast.Tuple)
            names, values = (target.elts, node.value.elts) if both else ([target], [node.value])
            for name, value in zip(names, values, strict=False):
                if isinstance(name, ast.Name) and name.id.strip("_").isupper() and len(name.id) > 1:
                    number = isinstance(value, ast.Constant) and isinstance(value.value, int | float)
                    yield name.id.strip("_"), str(float(value.value)) if number else ast.unparse(value)


def test_one_truth_stands_in_one_place() -> None:
    """The same name and the same value twice: one of them is changed one day. Seen to fail on 28."""
    where = defaultdict(set)
    for path in modules():
        if path.relative_to(TOP).parts[0] not in ONE_BY_ONE:
            for name, value in constants(tree(path)):
                where[name, value].add(str(path.relative_to(TOP)))
    twice = {which: files for which, files in where.items() if len(files) > 1}
    assert {which: files for which, files in twice.items() if which[0] not in OF_THE_FILE} == {}
