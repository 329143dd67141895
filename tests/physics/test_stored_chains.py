"""Heats in virtual time whose record has not changed by a byte: the seal of each is the stored one.

The seal is a SHA-256 over the header, every sample, every event and the summary: a tidy-up, a faster tick or
another interpreter that changes anything of what is controlled, judged or written is seen here. A seal that
changes knowingly is stored anew, and the commit says what has changed it. The values are sums of floating
point: a machine with another mathematics library may round a last digit otherwise.
"""

from collections.abc import Callable
from typing import Any

import pytest

from kilnctl.config.home import bundled
from kilnctl.config.oven import Oven, load_oven
from kilnctl.errors import ProfileError
from kilnctl.heat.job import Job
from kilnctl.heat.runner import Runner
from kilnctl.link.snapshot import Command
from kilnctl.model.nameplate import nameplate
from kilnctl.profile.segments import Profile
from kilnctl.rehearsal.dry_run import parse_faults, rehearse
from kilnctl.tomlfile import loads

TEMPERING = load_oven(bundled("ovens") / "tempering-oven.toml")
PROFILE = """
name = "short temper (invented)"
steel = "O1"
section = "4 mm"
[[segment]]
kind = "ramp"
to = "120 C"
rate = "400 C/h"
purpose = "temper"
[[segment]]
kind = "soak"
at = "120 C"
time = "5min"
band = "6 K"
clock = "part"
purpose = "temper"
[[segment]]
kind = "operator"
step = "unload"
say = "take the part out"
hold = "110 C"
at_most = "10min"
[[segment]]
kind = "cool"
to = "95 C"
at_most = "20min"
"""
Act = Callable[[Runner], Any]


def say(word: str, **args: Any) -> Act:
    return lambda runner: runner.command(Command(word, args=args, who="bench"))


# What is asked while the heat runs, by its second: every command, some of them refused.
ASKED: dict[float, Act] = {
    60.0: say("mark", mark="a word"),
    300.0: say("adjust", what="lower", to_c=115.0),
    310.0: say("adjust", what="lower", to_c=400.0),
    1000.0: say("acknowledge"),
    1200.0: say("adjust", what="longer", by_s=120.0),
}


def driven(oven: Oven, controller: str) -> Oven:
    return oven.model_copy(update={"controller": controller})


# Oven, job, faults, what is asked, and what is known of the oven.
HEATS: dict[str, tuple[Oven, dict[str, Any], str, dict[float, Act], bool]] = {
    "pid": (driven(TEMPERING, "pid"), {}, "", ASKED, False),
    "pid, learned": (driven(TEMPERING, "pid"), {"wait_s": 60.0}, "", ASKED, True),
    "model": (driven(TEMPERING, "model"), {}, "door-open@10min~40s", ASKED, False),
    "model, learned": (driven(TEMPERING, "model"), {}, "supply-factor@5min:0.93~60s", {}, True),
    "a trip": (driven(TEMPERING, "model"), {}, "relay-welded@5min contactor-welded@5min", ASKED, False),
    "off": (driven(TEMPERING, "pid"), {}, "", {600.0: lambda runner: runner.off("by hand")}, False),
}
SEALS = {
    "pid": "e02299dac0400d9172ad44cf5063c196970a45fdb59bb0a97aad95b7dfac7f58",
    "pid, learned": "ca21338b39df07eec67a1651d761961b84b29ab7de85d46179b31a032d850a93",
    "model": "9a0e4b43475ae2c7b4a8c742eaa44476d8e14d41fabad7e84caac1818a57afb6",
    "model, learned": "0f1218aa79cb14cd1a6473a73e5590a817a7d1e8670e13c3a796f2403f2bbcbc",
    "a trip": "fe38c505b529f34fcae364147159c0eadfc0c084b34ae5e89153d2457b28904c",
    "off": "bcfbdceeaa8ca9700d3117ef2a2c293ab5c681cc66b915c1086dfbad5e36a5f8",
}


@pytest.mark.parametrize("name", HEATS)
def test_the_record_of_a_heat_is_the_stored_one(name: str) -> None:
    oven, more, faults, asked, learned = HEATS[name]
    to_come = sorted(asked.items(), key=lambda act: act[0])

    def on_tick(runner: Runner) -> None:
        while to_come and runner.now.elapsed_s >= to_come[0][0]:
            to_come.pop(0)[1](runner)

    rehearsal = rehearse(
        oven,
        Job(loads(PROFILE, Profile, ProfileError, "test.toml"), **more),
        faults=parse_faults(faults.split()),
        model=nameplate(oven) if learned else None,
        on_tick=on_tick,
    )
    outcome = rehearsal.run()
    assert rehearsal.runner.heat.recorder.seal is not None
    seal = rehearsal.runner.heat.recorder.seal.hex()
    assert seal == SEALS[name], f'{name} ({outcome.outcome}, {outcome.summary["duration_s"]} s): "{seal}"'
