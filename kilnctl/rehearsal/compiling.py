"""Make the compiled build of this source: `python -m kilnctl.rehearsal.compiling`.

Needs mypy, setuptools and a C compiler, and some minutes. It lies in the user's own kilnctl folder under a
name that changes with the source, so that a change of the source leaves it unused until it is made again.
"""

import os
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

from kilnctl.config import home
from kilnctl.rehearsal.compiled import PACKAGES, TOP, build_folder, modules
from kilnctl.rehearsal.rewriting import rewritten

# What a tick of a rehearsed heat runs through: rooms with all in them, and single modules of others.
COMPILED = (
    *("kilnctl/clock", "kilnctl/control", "kilnctl/heat", "kilnctl/interlocks", "kilnctl/model"),
    "kilnctl/learning/identification_run",
    *("kilnctl/devices/interfaces", "kilnctl/devices/outputs", "kilnctl/devices/signals"),
    *("kilnctl/logbook/blocks", "kilnctl/logbook/counters", "kilnctl/logbook/sample"),
    *("kilnctl/profile/cursor", "kilnctl/readings", "kilnctl/stages", "kilnctl/treatment/steel/temper/dose"),
    *("kilnctl/rehearsal/rehearsed_acts", "kilnctl/rehearsal/heat_watch", "kilnctl/rehearsal/virtual_io"),
    *("simulator/boards", "simulator/oven"),
)
# Left as they are, with the reason.
LEFT = {
    "kilnctl.heat.telling.live_forecast": "lives beside a real heat only",
    "kilnctl.heat.telling.snapshot_builder": "draws for a screen",
    "kilnctl.heat.telling.time_left": "counts for a screen",
}
SETTINGS = "[mypy]\nplugins = pydantic.mypy\nignore_missing_imports = true\n"
# Products and sums are rounded one by one, as Python rounds them: some machines would do both in one step.
FLAGS = "-ffp-contract=off"
MAKE = """
import sys
from mypyc.build import mypycify
from setuptools import setup
words = ["--config-file", "mypy.ini", *sys.argv[3:]]
found = mypycify(words, opt_level=sys.argv[2], debug_level="0", target_dir="c")
setup(name="heats", ext_modules=found, script_args=["-q", "build_ext", "-b", sys.argv[1], "-t", "objects"])
"""


def sources() -> list[str]:
    """Return the files that are compiled, from the top; checks of data by a library stay as they are."""
    paths = [path.relative_to(TOP) for name in COMPILED for path in _files(TOP / name)]
    own = [path for path in paths if "pydantic" not in (TOP / path).read_text(encoding="utf-8")]
    return [str(path) for path in own if ".".join(path.with_suffix("").parts) not in LEFT]


def _files(place: Path) -> list[Path]:
    if place.is_dir():
        return [path for path in sorted(place.rglob("*.py")) if path.name != "__init__.py"]
    return [place.with_suffix(".py")]


def lacking() -> str:
    """Say what is not there that a build needs, nothing where all of it is."""
    found = subprocess.run(
        [sys.executable, "-c", "import mypyc.build, setuptools"], check=False, capture_output=True
    )
    if found.returncode:
        return "mypy and setuptools are needed: pip install mypy setuptools"
    if not any(shutil.which(name) for name in (os.environ.get("CC", "cc"), "gcc", "clang")):
        return "a C compiler is needed: install gcc or clang"
    return ""


def make(optimised: bool = True) -> Path:
    """Make the build of this source and return its folder; builds of other sources are taken away.

    Not `optimised` it is there sooner, and a little slower.

    Raises CalledProcessError with what the compiler said.
    """
    folder = build_folder()
    folder.parent.mkdir(mode=0o700, exist_ok=True)
    made = Path(tempfile.mkdtemp(dir=folder.parent))
    with tempfile.TemporaryDirectory() as name:
        top = Path(name)
        for package in PACKAGES:
            shutil.copytree(TOP / package, top / package, ignore=shutil.ignore_patterns("__pycache__"))
        for source in sources():
            (top / source).write_text(rewritten((TOP / source).read_text(encoding="utf-8")), encoding="utf-8")
        (top / "mypy.ini").write_text(SETTINGS, encoding="utf-8")
        flags = {"CFLAGS": f"{os.environ.get('CFLAGS', '')} {FLAGS}".strip()}
        words = [sys.executable, "-c", MAKE, str(made), "1" if optimised else "0", *sources()]
        subprocess.run(
            words, cwd=top, env={**os.environ, **flags}, check=True, capture_output=True, text=True
        )
    shutil.rmtree(folder, ignore_errors=True)
    made.rename(folder)  # whole, or not there
    for other in set(folder.parent.iterdir()) - {folder}:
        shutil.rmtree(other, ignore_errors=True)
    return folder


def main() -> int:
    """Make the build, and say where it is or what was in the way."""
    if why := lacking():
        print(why, file=sys.stderr)
        return 2
    print("compiling: this takes some minutes", flush=True)
    try:
        folder = make()
    except subprocess.CalledProcessError as e:
        (home.home() / "compiling.log").write_text(e.stdout + e.stderr, encoding="utf-8")
        print(f"not compiled; {home.home() / 'compiling.log'} says why", file=sys.stderr)
        return 1
    print(f"{len(modules(folder))} modules in {folder}; dry-run, prove and the campaign use it from now on")
    return 0


if __name__ == "__main__":
    sys.exit(main())
