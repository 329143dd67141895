"""`prove` on a short heat: its JSON, its exit code, what a stop leaves, and what it refuses."""

import json
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager

import pytest

from kilnctl.cli.plan import heats_progress
from kilnctl.cli.plan.prove import prove
from kilnctl.errors import ConfigError

SHORT = """
name = "five warm minutes (invented)"
[[segment]]
kind = "ramp"
to = "45 C"
[[segment]]
kind = "soak"
at = "45 C"
time = "3min"
band = "10 K"
"""


@pytest.mark.slow
def test_a_short_job_is_tried_and_summed_up(tmp_path, capsys) -> None:
    job = tmp_path / "short.toml"
    job.write_text(SHORT, encoding="utf-8")
    code = prove(str(job), oven="tempering-oven", runs=4, seed=40, as_json=True)
    found = json.loads(capsys.readouterr().out)
    assert found["runs"] == found["faulted"] == 4
    assert code == (4 if found["failed_seeds"] else 0)
    assert found["unsafe"] == 0


def test_what_is_stopped_gives_what_there_is(capsys, monkeypatch) -> None:
    ended: list[int] = []

    @contextmanager
    def stop_after_two() -> Iterator[Callable[[], bool]]:
        yield lambda: len(ended) >= 2

    monkeypatch.setattr(heats_progress, "stop_key", stop_after_two)
    with ThreadPoolExecutor(1) as executor:
        for one in heats_progress.shown(abs, range(5000), executor):
            ended.append(one)
    assert 2 <= len(ended) < 5000
    assert f"stopped after {len(ended)} of 5000 faulted heats" in capsys.readouterr().err


def test_a_number_of_runs_out_of_range_is_refused() -> None:
    with pytest.raises(ConfigError, match="from 1 to"):
        prove("gouge-o1-temper", oven="tempering-oven", runs=0)
