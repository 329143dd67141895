"""Fixed pictures of every state, for tests and for looking at. All data invented."""

import asyncio
import dataclasses
import math
from collections.abc import AsyncIterator, Callable

from textual.app import App
from textual.pilot import Pilot

from kilnctl.link.snapshot import (
    AlarmView,
    Answer,
    Command,
    InterlockView,
    SegmentView,
    Snapshot,
    Waiting,
)

SEGMENTS = (
    SegmentView(
        0,
        "operator",
        "load the gouges",
        "harden",
        None,
        None,
        None,
        0.0,
        180.0,
        180.0,
        "Load three gouges on the rack, door shut",
        "load",
    ),
    SegmentView(1, "ramp", "heat to 650", "preheat", 650.0, 300.0, None, 180.0, 7740.0, 7740.0),
    SegmentView(2, "soak", "equalise", "preheat", 650.0, None, 900.0, 7740.0, 8700.0, 8700.0),
    SegmentView(3, "ramp", "heat to 800", "harden", 800.0, 200.0, None, 8700.0, None, 11400.0),
    SegmentView(4, "soak", "austenitise", "harden", 800.0, None, 600.0, None, None, 12060.0),
    SegmentView(
        5,
        "operator",
        "quench",
        "harden",
        800.0,
        None,
        None,
        None,
        None,
        12360.0,
        "Quench in warm oil, edge down, one after another",
        "quench",
    ),
)

INTERLOCKS = tuple(
    InterlockView(kind, label, value, limit, unit, near, note=note)
    for kind, label, value, limit, unit, near, note in (
        ("over_temperature", "Over-temperature", 742.0, 815.0, "°C", 0.62, ""),
        ("sensor_lost", "Sensor lost", 0.0, 2.0, "s", 0.0, ""),
        ("late_tick", "Late tick", 0.02, 2.0, "s", 0.01, ""),
        ("unexplained_heat", "Unexplained heat", 0.04, 0.35, "", 0.11, ""),
        ("two_sensors", "Two sensors disagree", 3.1, 11.1, "K", 0.28, ""),
        ("frozen", "Frozen reading", 6.0, 120.0, "s", 0.05, ""),
        ("noise", "Noisy reading", 0.4, 5.0, "K", 0.08, ""),
        ("wire", "Bad replies", 0.0, 20.0, "%", 0.0, ""),
        ("chatter", "Relay chatter", 1.0, 6.0, "/min", 0.17, ""),
        ("door", "Door", None, None, "", 0.0, "shut"),
        ("supply", "Supply voltage", 231.0, 265.0, "V", 0.03, ""),
        ("suspended", "Computer asleep", 0.0, 2.0, "s", 0.0, ""),
        ("supervisor", "Supervisor silent", 0.4, 5.0, "s", 0.08, ""),
        ("fall", "Falling too fast", 0.0, 1.2, "K/s", 0.0, ""),
        ("swing", "Swinging", 1.0, 6.0, "", 0.17, "half-waves above the band"),
    )
)


def curve_c(at_s: float) -> float:
    """The invented heat: what was measured at a time of the run."""
    ramp_c = 20.0 + (at_s - 180.0) * 300.0 / 3600.0
    if at_s < 8700.0:
        return max(20.0, min(650.0, ramp_c)) + 1.5 * math.sin(at_s / 90.0)
    return min(800.0, 650.0 + (at_s - 8700.0) * 200.0 / 3600.0) + 1.5 * math.sin(at_s / 90.0)


def heating() -> Snapshot:
    """In the last ramp before the austenitising soak."""
    at_s = 10400.0
    ahead = tuple(
        (at_s + t, *(min(800.0 + w, curve_c(at_s) + t * 0.055 + w) for w in (-12.0, 0.0, 12.0)))
        for t in range(0, 1960, 60)
    )
    return Snapshot(
        oven="hardening-furnace",
        simulated=True,
        sequence=10400,
        utc="2026-03-01T13:14:00+00:00",
        state="running",
        word="heating",
        elapsed_s=at_s,
        process_c=742.4,
        setpoint_c=744.4,
        part_c=731.2,
        goal_c=800.0,
        limit_c=1100.0,
        duty=0.64,
        heat_on=True,
        run=12,
        profile="gouge-o1-harden",
        steel="O1",
        time_scale=1.0,
        second_c=739.3,
        segment=3,
        segments=SEGMENTS,
        segment_left_s=1000.0,
        total_left_s=1960.0,
        end_utc="2026-03-01T13:46:40+00:00",
        next_words="soak at 800 °C (1472 °F) for 10 min in 17 min",
        interlocks=INTERLOCKS,
        energy_kwh=3.417,
        closures_per_h=212.0,
        prediction=ahead,
        isolator="red switch beside the workshop door",
        phone="your local emergency number",
    )


def soaking() -> Snapshot:
    """In the soak, nine minutes before the quench."""
    return dataclasses.replace(
        heating(),
        word="soaking",
        elapsed_s=11460.0,
        process_c=800.6,
        setpoint_c=800.0,
        part_c=797.8,
        duty=0.51,
        heat_on=False,
        segment=4,
        segments=_at(4, 11400.0),
        segment_left_s=540.0,
        total_left_s=840.0,
        soak_oven_s=95.0,
        soak_part_s=60.0,
        soak_goal_s=600.0,
        prediction=(),
        next_words="you, in 9 min: Quench in warm oil, edge down, one after another",
    )


def nearly() -> Snapshot:
    """Two minutes before the quench."""
    return dataclasses.replace(soaking(), elapsed_s=11890.0, segment_left_s=110.0, soak_part_s=490.0)


def ready() -> Snapshot:
    """Ready to quench."""
    return dataclasses.replace(
        soaking(),
        word="ready to quench",
        elapsed_s=12070.0,
        segment=5,
        segments=_at(5, 12060.0),
        soak_oven_s=None,
        soak_part_s=None,
        soak_goal_s=None,
        segment_left_s=290.0,
        total_left_s=290.0,
        next_words="the heat ends once you answer",
        process_c=799.0,
        duty=0.0,
        waiting=Waiting("quench", SEGMENTS[5].say, 12060.0, 12360.0, False),
    )


def late() -> Snapshot:
    """Ready for too long."""
    return dataclasses.replace(ready(), elapsed_s=12300.0, segment_left_s=60.0, process_c=781.0)


def waiting() -> Snapshot:
    """At the first step: load the furnace."""
    return dataclasses.replace(
        heating(),
        word="waiting for you",
        elapsed_s=64.0,
        process_c=21.4,
        setpoint_c=None,
        part_c=None,
        goal_c=None,
        duty=0.0,
        heat_on=False,
        segment=0,
        segments=_at(0, 0.0),
        segment_left_s=536.0,
        total_left_s=12900.0,
        energy_kwh=0.0,
        closures_per_h=0.0,
        prediction=(),
        second_c=21.1,
        waiting=Waiting("load", SEGMENTS[0].say, 0.0, 600.0, False),
        next_words="heat to 650 °C (1202 °F) once you answer",
    )


def cooling() -> Snapshot:
    """A controlled cool with the heat low."""
    plan = (
        SegmentView(0, "ramp", "heat to 780", "anneal", 780.0, None, None, 0.0, 7200.0, 7200.0),
        SegmentView(1, "soak", "soak", "anneal", 780.0, None, 3600.0, 7200.0, 10800.0, 10800.0),
        SegmentView(2, "cool", "slow cool", "anneal", 600.0, 20.0, None, 10800.0, None, 43200.0),
    )
    return dataclasses.replace(
        heating(),
        word="cooling",
        profile="drawknife-5160-anneal",
        steel="5160",
        elapsed_s=20000.0,
        process_c=729.0,
        setpoint_c=728.9,
        part_c=729.4,
        goal_c=600.0,
        duty=0.22,
        segment=2,
        segments=plan,
        segment_left_s=23200.0,
        total_left_s=23200.0,
        next_words="the heat ends in 6 h 27 min",
        prediction=(),
        end_utc="2026-03-01T19:41:00+00:00",
    )


def held() -> Snapshot:
    """The door is open."""
    return dataclasses.replace(
        heating(),
        state="held",
        word="held",
        duty=0.0,
        heat_on=False,
        process_c=718.0,
        alarms=(
            AlarmView(
                "door",
                "the door has been open for 14 s, heat off until it is shut",
                "soon",
                "not acknowledged",
                10386.0,
            ),
        ),
    )


def tripped() -> Snapshot:
    """A welded relay."""
    stuck = "heat is 0.41 of full power above what was asked for 20 s: the relay may be stuck closed"
    return dataclasses.replace(
        heating(),
        state="tripped",
        word="tripped",
        duty=0.0,
        heat_on=False,
        off_read_back=True,
        process_c=758.0,
        setpoint_c=None,
        goal_c=None,
        end_utc="",
        segment_left_s=None,
        total_left_s=None,
        next_words="",
        prediction=(),
        trip=stuck,
        trip_kind="unexplained_heat",
        alarms=(
            AlarmView("unexplained_heat", stuck, "urgent", "not acknowledged", 10380.0, first_out=True),
            AlarmView("late", "arrival is 9 min later than planned", "later", "acknowledged", 9900.0),
            AlarmView("above_plan", "measured is 14 K above the plan", "soon", "not acknowledged", 10390.0),
        ),
        interlocks=tuple(
            dataclasses.replace(i, value=0.41, near=1.0) if i.kind == "unexplained_heat" else i
            for i in INTERLOCKS
        ),
    )


def hot() -> Snapshot:
    """The heat is over, the oven is not cold."""
    return dataclasses.replace(
        heating(),
        state="complete",
        word="off but hot",
        process_c=412.0,
        setpoint_c=None,
        part_c=None,
        goal_c=None,
        duty=0.0,
        heat_on=False,
        segment=None,
        segments=_all_done(),
        segment_left_s=None,
        total_left_s=None,
        end_utc="",
        next_words="",
        prediction=(),
        elapsed_s=15000.0,
    )


def cold() -> Snapshot:
    """Nothing is going on."""
    return dataclasses.replace(hot(), word="cold", process_c=24.0, elapsed_s=40000.0)


def tempering() -> Snapshot:
    """A temper on the other oven, with the numbers that belong to it."""
    plan = (
        SegmentView(0, "ramp", "heat", "temper", 218.0, None, None, 0.0, 900.0, 900.0),
        SegmentView(1, "soak", "temper 1", "temper", 218.0, None, 7200.0, 900.0, None, 9000.0),
        SegmentView(2, "cool", "hand-warm", "temper", 45.0, None, None, None, None, 12200.0),
        SegmentView(3, "soak", "temper 2", "temper", 218.0, None, 7200.0, None, None, 20000.0),
    )
    return dataclasses.replace(
        heating(),
        oven="tempering-oven",
        word="soaking",
        profile="gouge-o1-temper",
        elapsed_s=4000.0,
        process_c=217.9,
        setpoint_c=218.0,
        part_c=216.8,
        goal_c=218.0,
        limit_c=260.0,
        second_c=None,
        duty=0.43,
        segment=1,
        segments=plan,
        segment_left_s=5000.0,
        total_left_s=16000.0,
        soak_oven_s=3000.0,
        soak_part_s=2200.0,
        soak_goal_s=7200.0,
        temper_equivalent={"C = 20": 2160.0, "C = 16.4": 2110.0},
        predicted_hrc=(58.0, 61.0),
        prediction=(
            (4000.0, 216.0, 218.0, 220.0),
            (9000.0, 216.0, 218.0, 220.0),
            (12200.0, 40.0, 45.0, 52.0),
        ),
        next_words="cool to 45 °C (113 °F) in 1 h 23 min",
        end_utc="2026-03-01T17:40:00+00:00",
        isolator="wall switch above the bench",
    )


def lost() -> Snapshot:
    """The sensor is open and a trip is about to come."""
    return dataclasses.replace(heating(), process_c=None, quality="sensor open", duty=0.0, heat_on=None)


def _at(index: int, started_s: float) -> tuple[SegmentView, ...]:
    return tuple(
        dataclasses.replace(
            seg,
            started_s=seg.started_s
            if seg.index < index and seg.started_s is not None
            else started_s
            if seg.index <= index
            else None,
            ended_s=seg.predicted_end_s if seg.index < index else None,
        )
        for seg in SEGMENTS
    )


def _all_done() -> tuple[SegmentView, ...]:
    return tuple(
        dataclasses.replace(seg, started_s=(seg.predicted_end_s or 0) - 600, ended_s=seg.predicted_end_s)
        for seg in SEGMENTS
    )


STATES = {
    "heating": heating,
    "soaking": soaking,
    "nearly": nearly,
    "ready": ready,
    "late": late,
    "waiting": waiting,
    "cooling": cooling,
    "held": held,
    "tripped": tripped,
    "hot": hot,
    "cold": cold,
    "tempering": tempering,
    "lost": lost,
}


class Wire:
    """A feed that a test plays: pictures in, commands out. Behaves like an attachment to a controller."""

    def __init__(self, *first: Snapshot) -> None:
        self.asked: list[Command] = []
        self.answers: dict[str, Answer] = {}
        self.attached = 0
        self._queue: asyncio.Queue[Snapshot | None] = asyncio.Queue()
        for snapshot in first:
            self.put(snapshot)

    def put(self, snapshot: Snapshot) -> None:
        """Let the controller publish a picture."""
        self._queue.put_nowait(snapshot)

    def hang_up(self) -> None:
        """Let the controller go."""
        self._queue.put_nowait(None)

    async def snapshots(self) -> AsyncIterator[Snapshot]:
        """Yield what is put until it hangs up."""
        self.attached += 1
        while (snapshot := await self._queue.get()) is not None:
            yield snapshot

    async def ask(self, command: Command) -> Answer:
        """Note a command and answer it."""
        self.asked.append(command)
        return self.answers.get(command.word, Answer(True))


def text_of(app: App[None]) -> str:
    """Return the whole screen as plain text, row by row."""
    strips = app.screen._compositor.render_strips()
    return "\n".join("".join(segment.text for segment in strip) for strip in strips)


def flat(text: str) -> str:
    """Return a text on one line, so that a wrapped sentence can be found."""
    return " ".join(text.split())


async def until(pilot: Pilot[None], true: Callable[[], bool]) -> None:
    """Let the app go on until something is so; at most a minute, for a machine that is busy."""
    for _ in range(3000):
        if true():
            return
        await pilot.pause(0.02)
    raise AssertionError("it never came to that")
