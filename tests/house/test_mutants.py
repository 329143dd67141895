"""What the bench that breaks the code names, exists: else a room is broken and nobody is asked."""

from pathlib import Path

from bench.mutants.mutants import ROOMS

TOP = Path(__file__).parents[2]


def test_every_room_has_its_files_and_its_tests() -> None:
    for room, (files, groups) in ROOMS.items():
        for name in files.split():
            assert list(TOP.glob(f"kilnctl/{name}.py")), f"{room}: {name}"
        for name in " ".join(groups).split():
            assert (TOP / name).exists(), f"{room}: {name}"
