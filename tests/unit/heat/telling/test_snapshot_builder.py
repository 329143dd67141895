"""What a screen is shown of a running heat: here the times that the plan allows the hands."""

from dataclasses import replace

from kilnctl.config.home import bundled
from kilnctl.config.oven import load_oven
from kilnctl.errors import ProfileError
from kilnctl.heat.job import Job
from kilnctl.heat.runner import Runner
from kilnctl.heat.telling.snapshot_builder import snapshot
from kilnctl.link.snapshot import Answer, Command, Snapshot
from kilnctl.logbook.readers import Reader
from kilnctl.profile.segments import Profile
from kilnctl.readings import Quality, Reading
from kilnctl.rehearsal.dry_run import rehearse
from kilnctl.tomlfile import loads
from kilnctl.treatment.planning import soak_job

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
        seen.append(snapshot(runner.heat, runner.now, len(seen)))

    rehearse(OVEN, Job(loads(QUENCH, Profile, ProfileError, "q.toml")), on_tick=on_tick).run()
    for s in seen:
        at_quench = s.waiting is not None and s.waiting.step == "quench"
        assert s.hand_times_s == ({"transfer": 5.0, "bath": 7.0} if at_quench else {})
        assert s.medium == ("fast oil" if at_quench else "")
    assert any(s.hand_times_s for s in seen)


def test_everybody_sees_what_was_asked_and_why_a_heat_is_over() -> None:
    said: list[str] = []

    def on_tick(runner: Runner) -> None:
        if runner.now.elapsed_s == 5.0:
            runner.command(Command("adjust", None, {"what": "lower", "to_c": 35.0}, "pts/3"))
        if runner.now.elapsed_s == 10.0:
            runner.off("off by pts/4")
        s = snapshot(runner.heat, runner.now, 1)
        said.extend(words for words in (s.last_command, s.cause) if words not in ("", *said[-1:]))

    rehearse(OVEN, Job(loads(QUENCH, Profile, ProfileError, "q.toml")), on_tick=on_tick).run()
    assert said == ["adjust: goal down to 35 °C (95 °F) by pts/3", "off by pts/4"]


def test_words_of_a_person_that_are_named_like_the_records_own_do_not_end_a_heat() -> None:
    """A result carries "text", which is also what an event's words are called."""
    asked: list[Answer] = []

    def on_tick(runner: Runner) -> None:
        if not asked and runner.now.elapsed_s > 5.0:
            stamp = {"mark": "result", "text": "60 skates", "kind": "file", "self": 1}
            asked.append(runner.command(Command("mark", None, stamp, "pts/3")))

    rehearsal = rehearse(OVEN, Job(loads(QUENCH, Profile, ProfileError, "q.toml")), on_tick=on_tick)
    rehearsal.run()
    assert asked == [Answer(True)]
    (event,) = [e for e in Reader(rehearsal.book.connection).events(rehearsal.run_id) if e.kind == "mark"]
    assert event.text == "pts/3"
    assert event.data["text"] == "60 skates"


def test_an_oven_is_called_hot_until_it_is_below_50_c() -> None:
    """50 degC: as warm as metal may be touched for a while; common practice, no single source."""

    def off_after_the_soak(runner: Runner) -> None:
        if runner.now.segment_kind == "cool":
            runner.off()

    rehearsal = rehearse(OVEN, Job(soak_job(110.0, 60.0, OVEN)), on_tick=off_after_the_soak)
    rehearsal.run()
    runner, board = rehearsal.runner, rehearsal.board
    assert snapshot(runner.heat, runner.now, 1).word == "off but hot"
    said = []
    while board.plant.sensor.junction_c > 45.0:
        runner.now = runner.now._replace(scan=runner.heat.station.oven_io.scan(board.at_s + 10.0))
        said.append((snapshot(runner.heat, runner.now, 1).word, runner.now.scan.process.value))
    assert {word for word, at_c in said if at_c > 50.0} == {"off but hot"}
    assert {word for word, at_c in said if at_c <= 50.0} == {"cold"}
    unread = replace(runner.now.scan, process=Reading.bad(Quality.OPEN, "open", 0.0))
    runner.now = runner.now._replace(scan=unread)
    assert snapshot(runner.heat, runner.now, 1).word == "off but hot"  # what cannot be read may be hot


def test_a_door_that_is_open_at_a_step_of_a_person_is_no_hold() -> None:
    """At READY the door is opened for the quench: the screen must not turn to an amber HELD then."""
    seen: list[tuple[str, Snapshot]] = []

    def on_tick(runner: Runner) -> None:
        for state in ("running", "held"):
            now = runner.now._replace(state=state) if runner.now.live else runner.now
            seen.append((state, snapshot(runner.heat, now, 1)))

    rehearse(OVEN, Job(loads(QUENCH, Profile, ProfileError, "q.toml")), on_tick=on_tick).run()
    words = {(state, s.word) for state, s in seen if s.state == state and s.waiting is not None}
    assert words == {("running", "ready to quench"), ("held", "ready to quench")}
    ramps = {(state, s.word) for state, s in seen if s.state == state and s.waiting is None}
    assert ramps == {("running", "heating"), ("held", "held")}


def test_an_open_door_is_told_of_a_recording_too() -> None:
    seen: list[tuple[str, Snapshot]] = []

    def on_tick(runner: Runner) -> None:
        for state in ("running", "held") if runner.now.live else ():
            seen.append((state, snapshot(runner.heat, runner.now._replace(state=state), 1)))
        if runner.now.elapsed_s > 10.0:
            runner.off("enough")

    rehearse(OVEN, Job(soak_job(20.0, 600.0, OVEN), record_only=True), on_tick=on_tick).run()
    assert {(state, s.door_said) for state, s in seen} == {("running", ""), ("held", "the door is open")}


def test_a_plan_that_stands_still_says_what_it_waits_for() -> None:
    seen: list[Snapshot] = []

    def on_tick(runner: Runner) -> None:
        seen.append(snapshot(runner.heat, runner.now._replace(state="held"), 1))

    rehearse(OVEN, Job(loads(QUENCH, Profile, ProfileError, "q.toml")), on_tick=on_tick).run()
    assert seen[5].waits_for == "until the door is shut"
    assert replace(seen[5], quality="sensor open").waits_for == "for a reading"
    assert replace(seen[5], word="heating", creeps="").waits_for == ""
