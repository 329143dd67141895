"""Frames: there and back without loss, strict about types, tolerant of newer controllers."""

import json
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kilnctl.errors import LinkError
from kilnctl.link import wire
from kilnctl.link.snapshot import AlarmView, Answer, Command, InterlockView, SegmentView, Snapshot, Waiting


def whole() -> Snapshot:
    """Every field set to something that is not its default."""
    return Snapshot(
        oven="tempering-oven", simulated=True, sequence=7, utc="2026-03-01T10:00:00+00:00", state="running",
        word="soaking", elapsed_s=61.5, process_c=217.9, setpoint_c=218.0, part_c=None, goal_c=218.0,
        limit_c=260.0, duty=0.43, heat_on=True, run=12, profile="gouge-o1-temper",
        segments=(SegmentView(0, "ramp", "to 218", "temper", 218.0, rate_c_per_h=400.0, started_s=0.0),),
        waiting=Waiting("load", "Load the gouges", 60.0, 660.0, True),
        temper_equivalent={"C = 20": 1200.0}, predicted_hrc=(58.0, 60.0),
        interlocks=(InterlockView("over_temperature", "Over-temperature", 217.9, 260.0, "°C", 0.4),),
        alarms=(AlarmView("late", "late by 3 s", "soon", "unacknowledged", 3.0, first_out=True),),
        prediction=((0.0, 20.0, 21.0, 22.0), (60.0, 200.0, 210.0, 220.0)), not_checked=("drift",),
    )  # fmt: skip


def through_json(frame: wire.Frame) -> wire.Frame:
    raw = wire.line(frame)
    assert raw.endswith(b"\n")
    assert raw.count(b"\n") == 1
    return wire.frame_of(raw)


def test_a_snapshot_comes_back_the_same() -> None:
    assert wire.snapshot_of(through_json({"snapshot": whole()})["snapshot"]) == whole()


def test_commands_and_answers_come_back_the_same() -> None:
    command = Command("adjust", "furnace", {"soak_s": 600.0, "why": "line\nbreak", "list": [1, None]}, "tty3")
    answer = Answer(False, "the goal may not be raised", {"limit_c": 830.0})
    assert wire.command_of(through_json({"command": command})["command"]) == command
    assert wire.answer_of(through_json({"answer": answer})["answer"]) == answer


@given(st.recursive(st.none() | st.booleans() | st.floats() | st.text(), lambda d: st.lists(d, max_size=4)))
def test_every_line_is_json_as_the_standard_has_it(value: object) -> None:
    """RFC 8259 section 6: infinity and NaN are not permitted; Python writes them unless told not to."""

    def refuse(name: str) -> None:
        raise AssertionError(f"{name} is not JSON")

    json.loads(wire.line({"command": Command("view", args={"x": value})}), parse_constant=refuse)


def test_nan_arrives_as_nothing_where_nothing_is_allowed() -> None:
    frame = through_json({"answer": Answer(True, "", {"c": math.nan, "deep": [math.inf, 1.0]})})
    assert wire.answer_of(frame["answer"]).data == {"c": None, "deep": [None, 1.0]}


def test_fields_of_a_newer_controller_are_ignored() -> None:
    data = through_json({"snapshot": whole()})["snapshot"]
    data["colour_of_the_glow"] = "cherry"
    data["waiting"]["moon"] = 1
    assert wire.snapshot_of(data) == whole()


def test_missing_optional_fields_take_their_default() -> None:
    data = through_json({"command": Command("off")})["command"]
    assert wire.command_of({"word": data["word"]}) == Command("off")


@pytest.mark.parametrize(
    ("field", "value"),
    [("duty", True), ("duty", "0.4"), ("duty", None), ("sequence", 1.5), ("state", "glowing"),
     ("process_c", "218"), ("simulated", 1), ("predicted_hrc", [58.0]), ("segments", {}), ("waiting", []),
     ("alarms", [3])],
)  # fmt: skip
def test_wrong_types_are_refused_by_name(field: str, value: object) -> None:
    data = through_json({"snapshot": whole()})["snapshot"]
    data[field] = value
    with pytest.raises(LinkError, match=rf"snapshot\.{field}"):
        wire.snapshot_of(data)


def test_a_missing_field_is_named() -> None:
    data = through_json({"snapshot": whole()})["snapshot"]
    del data["limit_c"]
    with pytest.raises(LinkError, match="limit_c"):
        wire.snapshot_of(data)


@pytest.mark.parametrize("raw", [b"", b"{", b"[1]", b"\xff\xfe", b"3"])
def test_damaged_lines_are_refused(raw: bytes) -> None:
    with pytest.raises(LinkError):
        wire.frame_of(raw)


def test_what_is_no_data_cannot_be_sent() -> None:
    with pytest.raises(TypeError):
        wire.line({"command": Command("view", args={"x": object()})})
