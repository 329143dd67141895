"""One key lets a heat go on; it opens no door that an ordinary start would find shut."""

from pathlib import Path

import pytest

from kilnctl.cli.consent import caution
from kilnctl.config.home import bundled
from kilnctl.config.oven import Oven
from kilnctl.errors import ConfigError, RunRefused
from kilnctl.runtime.job import Job
from kilnctl.tomlfile import loads
from kilnctl.treatment.planning import soak_job

BUNDLED = (bundled("ovens") / "tempering-oven.toml").read_text(encoding="utf-8")


@pytest.fixture(autouse=True)
def _home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("KILNCTL_HOME", str(tmp_path))


def said_to(text: str, only: str) -> list[str]:
    oven = loads(text, Oven, ConfigError, "test")
    said: list[str] = []
    caution(text, oven, Job(soak_job(100.0, 600.0, oven)), said.append, only=only)
    return said


def test_one_key_does_not_stand_in_for_the_set_up() -> None:
    live = BUNDLED.replace("simulated = true", "simulated = false")
    assert live != BUNDLED
    with pytest.raises(RunRefused, match=r"not yet: .*kilnctl commission tempering-oven"):
        said_to(live, "go on with run 12?")


def test_a_simulated_oven_shows_the_caution_and_asks_nothing() -> None:
    assert said_to(BUNDLED, "go on with run 12?")[-1] == "simulated oven: nothing real is heated"
