"""A power cut over real bytes: supervisor and controller are killed at once, later the run is taken up."""

import contextlib
import json
import os
import random
import signal
import time
from collections.abc import Callable, Iterator

import pytest
from faults.live_heat import LiveHeat, live_heat, until
from faults.scenarios import LEARNED

from kilnctl.config import home
from kilnctl.errors import ProfileError, RecordError
from kilnctl.link.client import LinkClient
from kilnctl.link.snapshot import Command
from kilnctl.logbook.entries import LearnedOven, add
from kilnctl.logbook.readers import Reader
from kilnctl.logbook.writer import Logbook
from kilnctl.marks import latch
from kilnctl.profile.message import data_of
from kilnctl.profile.segments import Profile
from kilnctl.tomlfile import loads

pytestmark = pytest.mark.real_bytes
NOTHING_YET_S = -1.0  # not a sample has reached the disk
TEMPER = """
name = "short temper"

[[segment]]
kind = "ramp"
to = "90 C"
rate = "1500 C/h"
purpose = "temper"

[[segment]]
kind = "soak"
at = "90 C"
time = "3 min"
clock = "oven"
purpose = "temper"
"""


@pytest.fixture
def live() -> Iterator[LiveHeat]:
    with live_heat(speed=20) as heat:
        yield heat


def learned(live: LiveHeat) -> None:
    """Let the oven be known: a warm one that nobody has learned is watched for minutes before it heats."""
    model = json.loads((LEARNED / "tempering-oven.json").read_text(encoding="utf-8"))
    with Logbook(live.home / "logbook.sqlite") as book:
        add(book, LearnedOven(live.name, model), time.time())


def start(live: LiveHeat, soaked: float = 30.0, **more: object) -> None:
    (live.home / "temper.toml").write_text(TEMPER, encoding="utf-8")
    live.begin(TEMPER, **more)
    assert until(lambda: soaked_s(live) >= soaked, 120.0, look_s=0.2)
    assert until(live.hot, 60.0)


def soaked_s(live: LiveHeat) -> float:
    with contextlib.suppress(RecordError), Reader(live.home / "logbook.sqlite") as reader:
        newest = reader.newest(1)
        return (newest.soak_oven_s or 0.0) if newest else NOTHING_YET_S
    return NOTHING_YET_S


def cut_the_power(live: LiveHeat) -> None:
    controller, supervisor = live.controller(), live.supervisor()
    os.kill(supervisor, signal.SIGKILL)
    os.kill(controller, signal.SIGKILL)
    assert until(lambda: not live.hot(), 60.0)


def test_a_temper_is_taken_up_by_one_key_and_credits_no_more_than_was_true(live: LiveHeat) -> None:
    learned(live)
    start(live, resume_within_s=900.0, part="gouge 7")
    cut_the_power(live)
    credited_s = soaked_s(live)
    time.sleep(3.0)
    energy_j = live.truth()["energy_j"]
    latched = latch.read("small")
    assert latched is not None
    assert (latched.state, latched.run) == ("armed", 1)
    assert "kilnctl run --from 1" in live.ask("status")[1]
    assert live.truth()["energy_j"] == energy_j  # nothing heats before somebody asks
    job = str(live.home / "temper.toml")
    again = ("run", job, "--oven", str(live.oven), "--time-scale", str(live.speed))
    assert live.ask(*again)[0] == 3  # another heat needs a reset first
    view = live.start("run", "--from", "1", "--json")
    out, said = view.communicate(timeout=120)
    assert view.returncode == 0, (out, said)
    assert "it was interrupted for" in said
    assert "of 3 min count" in said
    told = json.loads(out)
    assert (told["outcome"], told["run"]) == ("complete", 2)
    with Reader(live.home / "logbook.sqlite") as reader:
        assert reader.run(1).outcome == ""
        assert reader.run(2).part == "gouge 7"
        event = next(e for e in reader.events(2) if e.kind == "taken up")
        soaks = reader.curve(2).column("soak_oven_s")
    assert event.data == {"run": 1}
    first_s = min(s for s in soaks.tolist() if s > 0.0)
    assert credited_s <= first_s <= credited_s + 60.0 * live.speed
    assert latch.read("small") is None
    with LinkClient(home.socket_path()) as client:
        status = Command("status", "small")
        assert client.ask(status).data["ovens"]["small"]["holds"]  # hot still, so it is watched
        assert live.ask("off")[0] == 0
        assert client.ask(status).data["ovens"]["small"]["holds"]  # off is sent all the time
        assert client.ask(Command("let go", "small")).accepted  # what the set-up asks for
        assert until(lambda: not client.ask(status).data["ovens"]["small"]["holds"], 60.0)


def test_without_the_owners_word_or_after_a_trip_it_stays_off(live: LiveHeat) -> None:
    start(live, soaked=0.0)
    os.kill(live.controller(), signal.SIGKILL)  # the supervisor lives, cuts and latches
    assert until(lambda: (said := latch.read("small")) is not None and said.state == "tripped", 60.0)
    code, _, why = live.ask("run", "--from", "1")
    assert code == 3
    assert "kilnctl reset" in why
    scale = ("--time-scale", str(live.speed))
    assert live.ask("reset", "--oven", "small", "--note", "killed by a test", *scale)[0] == 0
    for words in (("run", "--from", "9"), ("run", "x.toml", "--from", "1")):
        assert live.ask(*words)[0] in (2, 3)
    view = live.start("run", "--from", "1", "--json")
    assert until(lambda: live.ask("status")[1].startswith("small: "), 60.0, look_s=0.2)
    assert live.ask("off")[0] == 0
    _, said = view.communicate(timeout=90)
    assert "somebody must be there: nobody opted in" in said


def test_a_job_that_is_refused_late_leaves_no_latch_and_no_mark(live: LiveHeat) -> None:
    """The command line would refuse this steel itself; the controller must not rely on that."""
    steel = {**data_of(loads(TEMPER, Profile, ProfileError, "p")), "steel": "unobtainium"}
    answer = live.order(TEMPER, profile=steel)
    assert not answer.accepted
    assert "unobtainium" in answer.why
    assert latch.read("small") is None
    assert "interrupted" not in live.ask("status")[1]


@pytest.mark.on_demand
def test_after_a_replug_and_a_reset_a_person_goes_on_from_where_it_stood() -> None:
    with live_heat() as live:
        start(live, soaked=0.0)
        live.unplug()
        assert until(lambda: (said := latch.read("small")) is not None and said.state == "tripped", 15.0)
        live.say("off")
        live.plug_in()
        assert "kilnctl reset" in live.say("run", "--from", "1").stderr
        words = ("reset", "--oven", "small", "--note", "cable was out", "--time-scale", str(live.speed))
        assert until(lambda: live.say(*words).returncode == 0, 60.0)
        view = live.start("run", "--from", "1", "--json")
        assert until(live.hot, 60.0)
        assert live.say("off").returncode == 0
        assert "it was not interrupted: it tripped" in view.communicate(timeout=90)[1]


LONG = TEMPER.replace('time = "3 min"', 'time = "3 h"')
CUTS = 100
GATE_S = 30.0  # seconds of the heat in which the readings must be good before anything may heat


class Witness:
    """Counts from the simulator's truth how long the oven was near the goal; one look each few real ms."""

    def __init__(self, live: LiveHeat) -> None:
        self.live, self.near_s, self._at_s = live, 0.0, 0.0

    def watch(self, real_s: float, until_true: Callable[[], bool] = lambda: False) -> bool:
        end_s = time.monotonic() + real_s
        while time.monotonic() < end_s:
            truth = self.live.truth()
            if self._at_s and truth["place_c"] > 110.0 - 10.0:
                self.near_s += truth["at_s"] - self._at_s
            self._at_s = truth["at_s"]
            if until_true():
                return True
            time.sleep(0.02)
        return until_true()


def newest(live: LiveHeat) -> tuple[int, float]:
    """Return the newest run and the seconds its soak has been credited."""
    with Reader(live.home / "logbook.sqlite") as reader:
        run = reader.runs(limit=1)[0].run
        sample = reader.newest(run)
        return run, (sample.soak_oven_s or 0.0) if sample else 0.0


def cut_and_take_up(live: LiveHeat, witness: Witness, dice: random.Random, cut: int) -> None:
    witness.watch(dice.uniform(0.3, 5.0))
    assert still_on(live), cut
    both = live.supervisor(), live.controller()  # named before either is dead
    for process in both:
        os.kill(process, signal.SIGKILL)
    assert witness.watch(5.0, lambda: not live.hot()), cut
    run, _ = newest(live)
    energy_j = live.truth()["energy_j"]
    witness.watch(dice.uniform(0.2, 4.0))
    asked_s = live.truth()["at_s"]
    view = live.start("run", "--from", str(run), "--json")
    assert witness.watch(60.0, lambda: newest(live)[0] > run or view.poll() is not None), cut
    assert view.poll() is None, (cut, view.communicate()[1])
    truth = live.truth()
    if truth["energy_j"] != energy_j:
        assert truth["at_s"] - asked_s >= GATE_S, (cut, "heated before the gate")
    assert newest(live)[1] <= witness.near_s + 60.0, (cut, newest(live), witness.near_s)


def still_on(live: LiveHeat) -> bool:
    with Reader(live.home / "logbook.sqlite") as reader:
        last = reader.runs(limit=1)[0]
        assert last.outcome == "", (last.outcome, last.cause)
    return True


@pytest.mark.on_demand
def test_a_hundred_cuts_of_one_heat() -> None:
    """Killed and taken up again and again: the credit never runs ahead of what the oven went through."""
    dice = random.Random(1)
    with live_heat(speed=10) as live:
        witness = Witness(live)
        job = live.home / "temper.toml"
        job.write_text(LONG, encoding="utf-8")
        live.start("run", str(job), "--oven", str(live.oven), "--time-scale", "10", "--json")
        assert witness.watch(30.0, live.hot)
        for cut in range(CUTS):
            cut_and_take_up(live, witness, dice, cut)
        assert live.say("off").returncode == 0
