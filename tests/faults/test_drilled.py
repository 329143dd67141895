"""Set-up drills with faults, and put off half-way: a seeded sample, and the judge broken for each rule."""

import pytest

from kilnctl.commissioning.drills import drills
from kilnctl.config.oven import Oven
from kilnctl.errors import ConfigError
from kilnctl.permits.dead_man_test import Finding
from kilnctl.tomlfile import loads
from tests.faults.drilled import _run, drilled
from tests.faults.scenarios import oven_text

FULL = loads(oven_text("tempering-oven", "full"), Oven, ConfigError, "oven")


@pytest.mark.slow
def test_no_drill_leaves_heat_on_or_passes_with_what_it_is_there_to_find() -> None:
    assert [d for d in map(drilled, range(120)) if d.wrong] == []


def test_a_bridged_limit_that_says_open_does_not_pass() -> None:
    found = _run(1, "limit", FULL, "limit-bridged@0", None)
    assert not found.passed
    assert "bridged" in found.line
    assert _run(1, "limit", FULL, "", None).passed


def test_a_drill_that_leaves_the_heat_on_is_found(monkeypatch) -> None:
    def leaves(bench):
        for _ in range(5):
            bench.tick(heat=True)
        bench.oven_io.off = lambda: True
        return Finding(True, None, "")

    monkeypatch.setitem(drills.DRILLS, "pulse", leaves)
    assert "after the drill" in _run(1, "pulse", FULL, "", None).wrong


def test_a_drill_that_goes_on_after_its_off_is_found(monkeypatch) -> None:
    def deaf(bench):
        bench._go_on = lambda: True
        for _ in range(60):
            bench.tick(heat=True)
        return Finding(True, None, "")

    monkeypatch.setitem(drills.DRILLS, "pulse", deaf)
    assert "after its off" in _run(1, "pulse", FULL, "", 5.0).wrong


def test_a_drill_that_passes_whatever_is_wrong_is_found(monkeypatch) -> None:
    monkeypatch.setitem(drills.DRILLS, "dead_man", lambda bench: Finding(True, None, ""))
    assert _run(1, "dead_man", FULL, "dead-man-stuck@0", None).wrong == "passes with dead-man-stuck"
