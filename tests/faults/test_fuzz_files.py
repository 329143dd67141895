"""Files that nobody should have written: no traceback, clear lines, nothing taken that is not plausible.

A seeded sample in every run; the whole 100,000 by name:
`pytest tests/faults/test_fuzz_files.py -m on_demand -s`.
"""

import os
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path
from typing import Any

import pytest
import tomlkit
from faults.malformed import KINDS, PLANNED, campaign, part, sources
from faults.plausible import judged
from hypothesis import given, settings
from hypothesis import strategies as st

SAMPLE = {"oven": 120, "recipe": 100, "profile": 60, "steel": 50}
WHOLE = {"oven": 25_000, "recipe": 50_000, "profile": 15_000, "steel": 10_000}
SHARE = 1_000
EVERY = 8  # planning costs far more than loading, and every bundled recipe is planned elsewhere
# As many parts at a time as the machine has cores, but it stays usable.
WORKERS = max(1, (os.cpu_count() or 2) - 1)


@pytest.mark.parametrize("kind", KINDS)
def test_sample_of_malformed_files(kind: str, tmp_path: Path) -> None:
    taken, refused, complaints = campaign(kind, tmp_path, range(SAMPLE[kind]), EVERY)
    assert complaints == []
    assert refused > taken


@pytest.mark.parametrize("kind", KINDS)
def test_the_sound_files_are_taken_without_complaint(kind: str, tmp_path: Path) -> None:
    """The judge would be worthless if it refused what is right."""
    place = tmp_path / f"{kind}.toml"
    for number, sound in enumerate(sources(kind, EVERY)[:20]):
        place.write_bytes(sound)
        assert judged(kind, place, planned=number % PLANNED == 0) == (True, [])


def test_the_judge_sees_what_is_not_plausible(tmp_path: Path) -> None:
    place = tmp_path / "profile.toml"
    place.write_text(
        'name = "x"\n[[segment]]\nkind = "soak"\nat = "200 C"\ntime = "40 h"\n', encoding="utf-8"
    )
    taken, said = judged("profile", place)
    assert taken
    assert said == []
    place.write_text(place.read_text(encoding="utf-8").replace("40 h", "49 h"), encoding="utf-8")
    assert judged("profile", place) == (False, [])


ANY_VALUE: st.SearchStrategy[Any] = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-(2**70), 2**70)
    | st.floats()
    | st.text(max_size=20)
    | st.dates(),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=8), inner, max_size=4),
    max_leaves=8,
)


def places(data: Any) -> list[tuple[Any, Any]]:
    """Return every container of TOML data with every key or index in it."""
    pairs = data.items() if isinstance(data, dict) else enumerate(data) if isinstance(data, list) else ()
    return [found for key, value in pairs for found in ((data, key), *places(value))]


@pytest.mark.parametrize("kind", KINDS)
def test_any_value_at_any_place(kind: str, tmp_path: Path) -> None:
    parsed = [tomlkit.parse(sound.decode()).unwrap() for sound in sources(kind, EVERY)[:3]]
    place = tmp_path / f"{kind}.toml"

    @settings(max_examples=6, deadline=None, derandomize=True)
    @given(data=st.sampled_from(parsed), where=st.integers(0, 10_000), value=ANY_VALUE)
    def check(data: dict[str, Any], where: int, value: Any) -> None:
        copy = tomlkit.parse(tomlkit.dumps(data)).unwrap()
        container, key = places(copy)[where % len(places(copy))]
        container[key] = value
        try:
            text = tomlkit.dumps(copy)
        except (TypeError, ValueError):
            return  # no TOML file can say this
        place.write_text(text, encoding="utf-8", errors="surrogatepass")
        assert judged(kind, place)[1] == []

    check()


@pytest.mark.on_demand
@pytest.mark.parametrize("kind", KINDS)
def test_the_whole_hundred_thousand(kind: str, tmp_path: Path) -> None:
    with ProcessPoolExecutor(WORKERS) as pool:
        shares = [
            pool.submit(part, kind, str(tmp_path), range(first, first + SHARE))
            for first in range(0, WHOLE[kind], SHARE)
        ]
        done = [share.result() for share in shares]
    taken, refused = sum(d[0] for d in done), sum(d[1] for d in done)
    print(f"\n{kind}: {taken + refused} malformed files: {taken} taken, {refused} refused")
    assert [what for d in done for what in d[2]] == []
    assert taken + refused == WHOLE[kind]
