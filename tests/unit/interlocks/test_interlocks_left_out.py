"""What does not judge an oven is said: before the heat, on the screen, in the record."""

import re
from dataclasses import replace
from pathlib import Path

import pytest

from kilnctl.config.oven import Oven
from kilnctl.errors import ConfigError
from kilnctl.heat.job import Job
from kilnctl.heat.telling.snapshot_builder import snapshot
from kilnctl.interlocks import INTERLOCKS, Thresholds, build, left_out, not_checked
from kilnctl.logbook.readers import Reader
from kilnctl.rehearsal.dry_run import rehearse
from kilnctl.tomlfile import loads
from kilnctl.treatment.planning import soak_job

DOCS = Path("kilnctl/guide/connect")
OVENS = {
    oven.name: oven
    for page in sorted(DOCS.glob("*.md"))
    for toml in re.findall(r"```toml\n(.*?)```", page.read_text(encoding="utf-8"), re.DOTALL)
    for oven in [loads(toml, Oven, ConfigError, page.name)]
}


@pytest.mark.parametrize("name", OVENS)
def test_every_interlock_judges_or_is_named(name):
    oven = OVENS[name]
    judging = {interlock.kind for interlock in build(oven, Thresholds.of(oven))}
    out = {kind for kind, _ in left_out(oven)}
    assert judging | out == {kind.kind for kind in INTERLOCKS}
    assert not judging & out
    said = " ".join(not_checked(oven, True))
    assert all(label in said for _, label in left_out(oven))


def test_a_relay_is_judged_by_all_of_them():
    assert left_out(OVENS["bench-oven"]) == ()


def test_a_coarse_count_is_named():
    assert any("frozen sensor" in sentence for sentence in not_checked(OVENS["panel-furnace"], True))


def test_an_oven_that_was_not_learned_has_no_balance_of_energy():
    bench = OVENS["bench-oven"]
    assert any("Energy balance" in sentence for sentence in not_checked(bench, learned=False))
    assert not any("Energy balance" in sentence for sentence in not_checked(bench, learned=True))
    instrument = next(o for o in OVENS.values() if o.output.heater.kind == "set-point")
    said = " ".join(not_checked(instrument, learned=False)).lower()
    assert said.count("energy balance") == 1  # left out anyway, and said once


@pytest.mark.parametrize("name", ["panel-furnace", "own-board"])
def test_screen_and_record_say_it(name):
    oven = OVENS[name]
    job = replace(Job(soak_job(60.0, 60.0, oven)), not_checked=not_checked(oven, True))
    rehearsal = rehearse(oven, job)
    rehearsal.run()
    seen = snapshot(rehearsal.runner.heat, rehearsal.runner.now, 1)
    assert seen.not_checked == not_checked(oven, True)
    inactive = [(i.kind, i.note) for i in seen.interlocks if not i.active]
    assert [kind for kind, _ in inactive] == [kind for kind, _ in left_out(oven)]
    assert all(note.startswith("not checked") for _, note in inactive)
    events = Reader(rehearsal.book.connection).events(rehearsal.run_id)
    assert tuple(e.text for e in events if e.kind == "not checked") == not_checked(oven, True)
