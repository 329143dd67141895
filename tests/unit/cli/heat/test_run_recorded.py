"""A recording is listed as what it was: nothing was heated."""

from kilnctl.cli.heat.run import _job
from kilnctl.config.home import bundled
from kilnctl.config.oven import load_oven


def test_a_recording_is_not_named_after_a_soak_that_nobody_asked_for() -> None:
    oven = load_oven(bundled("ovens") / "tempering-oven.toml")
    job = _job(None, None, None, True, False, oven)
    assert job.record_only
    assert job.profile.name == "recorded, no heat"
