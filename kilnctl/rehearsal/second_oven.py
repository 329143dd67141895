"""Two ovens in one room, in one virtual time: what goes wrong with one must not touch the other.

Both run a heat of the campaign. `off` for one of them, a fault in the first, and what is crossed between the
two are judged on the truth of both.
"""

import random
from collections import deque
from collections.abc import Sequence
from dataclasses import dataclass

from kilnctl.heat.neighbours import neighbour_of
from kilnctl.rehearsal.campaign import INSTALLED, Scenario, Task, drawn, heat_of
from kilnctl.rehearsal.dry_run import Rehearsal
from kilnctl.rehearsal.judge import OFF_WITHIN_S
from kilnctl.rehearsal.lateness import APART, CROSSED, CROSSED_S
from simulator.boards.two_ovens import schedule_pair

# What was asked of an oven is the share of so long in which heat was commanded.
ASKED_S = 60
# A room is looked at for so long; a heat of the campaign lasts for about 40 minutes.
LONGEST_S = 5400


@dataclass(frozen=True, slots=True)
class Room:
    """What became of two ovens, first and second. `wrong` is a sentence, empty where all is well.

    `heated_s` is how long one of them was heated after they were crossed; `apart_s`, which is judged, how
    long one of them was meanwhile asked for a quarter of full power more than the other: only then either
    gets what it did not ask for.
    `at_s` is when it happened: 0 where they were crossed before the first look.
    """

    seed: int
    what: str
    outcomes: tuple[str, str]
    causes: tuple[str, str]
    heated_s: float
    wrong: str
    apart_s: float = 0.0
    at_s: float = 0.0


class _One:
    """One oven of the room: its heat tick by tick, and the watch after it."""

    def __init__(self, task: Task) -> None:
        self.rehearsal, _ = heat_of(task)
        self.runner = self.rehearsal.runner
        self.idle_heat_s = 0
        self._on: deque[bool] = deque(maxlen=ASKED_S)

    @property
    def asked(self) -> float:
        """What was asked of it in the last minute, as a share of full power."""
        return sum(self._on) / ASKED_S

    @property
    def over(self) -> bool:
        return not self.runner.now.live

    def second(self, at_s: float) -> None:
        """Let one second pass: a tick of the heat, or a look of the watch after it."""
        runner, clock = self.runner, self.rehearsal.clock
        clock.advance(at_s - clock.now_s())
        before_j, over = self.rehearsal.board.heated.energy_j, self.over
        if over:
            oven_io = runner.heat.station.oven_io
            runner.watch_cut(oven_io.scan(at_s), oven_io.off())
        else:
            runner.tick(at_s)
        flows = self.rehearsal.board.heated.energy_j > before_j + 1.0
        self.idle_heat_s = self.idle_heat_s + 1 if over and flows else 0
        self._on.append(runner.now.request.on)


def room_of(seed: int, scenarios: Sequence[Scenario], sound: bool = False) -> Room:
    """Run the room of a seed: two ovens; something is crossed, one is put off, or the first has a fault.

    `sound`: nothing goes wrong.
    """
    dice = random.Random(f"room {seed}")
    first = dice.choice(scenarios)
    second = dice.choice([s for s in scenarios if _name(s) != _name(first)])
    at_s = dice.uniform(60.0, 1500.0)
    what = "sound" if sound else ("off first", "off second", "fault", *CROSSED)[seed % 5]
    faults = drawn(seed, [first]).faults if what == "fault" else ()
    one, two = _One(Task(seed, first, seed % 1000, faults)), _One(Task(seed, second, seed % 997))
    names = [each.rehearsal.station.oven.name for each in (one, two)]
    one.runner.others = lambda: {names[1]: neighbour_of(two.runner.now, two.runner.trend, two.runner.turns)}
    two.runner.others = lambda: {names[0]: neighbour_of(one.runner.now, one.runner.trend, one.runner.turns)}
    if what in CROSSED:
        at_s = 0.0 if dice.random() < INSTALLED else at_s
        schedule_pair(f"{what}@{at_s:.0f}", one.rehearsal.board, two.rehearsal.board)
    return _judged(seed, what, one, two, at_s)


def _name(scenario: Scenario) -> str:
    return next(line for line in scenario.oven.splitlines() if line.startswith("name"))


def _judged(seed: int, what: str, one: _One, two: _One, at_s: float) -> Room:
    """Run both to their ends, a second at a time, and judge them."""
    heated_s, apart_s, wrong = 0.0, 0.0, ""
    for second in range(1, LONGEST_S):
        if second == int(at_s) and what.startswith("off"):
            (one if what == "off first" else two).runner.off("off for one of two (rehearsed)")
        for each in (one, two):
            each.second(float(second))
        if what in CROSSED and second > at_s:
            heated = one.runner.now.request.on or two.runner.now.request.on
            heated_s += heated
            apart_s += heated and abs(one.asked - two.asked) >= APART
        wrong = wrong or _touched(what, one, two, second < at_s)
        if one.over and two.over:
            break
    if apart_s > CROSSED_S:
        wrong = wrong or f"{what}: heated apart for {apart_s:.0f} s, {CROSSED_S:.0f} s allowed"
    outcomes = (one.runner.now.state, two.runner.now.state)
    causes = (_cause(one.rehearsal), _cause(two.rehearsal))
    return Room(seed, what, outcomes, causes, heated_s, wrong, apart_s, at_s)


def _touched(what: str, one: _One, two: _One, before: bool) -> str:
    """Say which oven was touched by what is no business of it, or is heated though its heat is over.

    `before`: nothing has gone wrong yet.
    """
    if what in CROSSED:
        cut = before and (one.runner.now.trip or two.runner.now.trip)
        return f"cut before anything was crossed: {cut.reason}" if cut else ""
    if what == "sound" and one.runner.now.trip is not None:
        return f"the first oven trips: {one.runner.now.cause}"
    if two.runner.now.trip is not None:
        return f"the second oven trips: {two.runner.now.cause}"
    if one.runner.now.state == "stopped" and what == "off second":
        return "off for the second oven has ended the first"
    if two.runner.now.state == "stopped" and what != "off second":
        return "the first oven has ended the second"
    for each in (two, one) if what != "fault" else (two,):
        if each.idle_heat_s > OFF_WITHIN_S:
            return f"{each.rehearsal.station.oven.name} is heated though its heat is over"
    return ""


def _cause(rehearsal: Rehearsal) -> str:
    trip = rehearsal.runner.now.trip
    return "" if trip is None else trip.kind
