"""What a screen is shown of a running heat: here the times that the plan allows the hands."""

from kilnctl.config.home import bundled
from kilnctl.config.oven import load_oven
from kilnctl.errors import ProfileError
from kilnctl.link.snapshot import Snapshot
from kilnctl.profile.segments import Profile
from kilnctl.rehearsal.dry_run import rehearse
from kilnctl.runtime.job import Job
from kilnctl.runtime.runner import Runner
from kilnctl.runtime.view import snapshot
from kilnctl.tomlfile import loads

OVEN = load_oven(bundled("ovens") / "tempering-oven.toml")
QUENCH = """
name = "warm quench (invented)"
[[segment]]
kind = "ramp"
to = "40 C"
rate = "300 C/h"
[[segment]]
kind = "operator"
step = "quench"
say = "now"
hold = "40 C"
at_most = "5min"
medium = "fast oil"
transfer = "5 s"
bath = "7 s"
"""


def test_the_times_of_the_hands_come_with_the_quench_and_only_then() -> None:
    seen: list[Snapshot] = []

    def on_tick(runner: Runner) -> None:
        seen.append(snapshot(runner, len(seen)))

    rehearse(OVEN, Job(loads(QUENCH, Profile, ProfileError, "q.toml")), on_tick=on_tick).run()
    for s in seen:
        at_quench = s.waiting is not None and s.waiting.step == "quench"
        assert s.hand_times_s == ({"transfer": 5.0, "bath": 7.0} if at_quench else {})
        assert s.medium == ("fast oil" if at_quench else "")
    assert any(s.hand_times_s for s in seen)
