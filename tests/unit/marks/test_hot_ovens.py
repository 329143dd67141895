"""A sign of an oven that may still be hot; one that cannot be read stays one, and claims nothing."""

import json
from pathlib import Path

import pytest

from kilnctl.marks import hot_ovens
from kilnctl.marks.hot_ovens import Hot

SAID = {"oven": "left", "utc": "2026-11-29T10:00:00+00:00", "run": 3, "at_c": 212.5, "of_record": False}


@pytest.mark.parametrize("name", ["left", "Öfchen 2", "a/b"])
def test_a_sign_comes_back_until_it_is_taken_away(own_home: Path, name: str) -> None:
    sign = Hot(name, "2026-11-29T10:00:00+00:00", 3, 212.5)
    hot_ovens.sign(sign)
    assert hot_ovens.signed() == [sign]
    assert {path.parent for path in own_home.rglob("*.json")} == {own_home / "hot"}
    hot_ovens.clear(name)
    assert hot_ovens.signed() == []


@pytest.mark.parametrize(
    "wrong",
    [{"utc": 7}, {"run": "3"}, {"at_c": "hot"}, {"oven": "right"}, {"more": 1}],
    ids=lambda wrong: next(iter(wrong)),
)
def test_a_sign_that_is_not_ours_names_its_oven_and_no_temperature(
    own_home: Path, wrong: dict[str, object]
) -> None:
    (own_home / "hot").mkdir()
    (own_home / "hot" / "left.json").write_text(json.dumps(SAID | wrong), encoding="utf-8")
    assert hot_ovens.signed() == [Hot("left")]
