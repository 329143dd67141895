"""The page of `prove`: what was cut by what, what was not, each failure by its seed; and its exit code."""

from kilnctl.cli.plan.prove_answer import exit_code
from kilnctl.cli.plan.prove_page import complaint, prove_page
from kilnctl.rehearsal.judge import Verdict
from kilnctl.report.layout.text_page import print_document
from kilnctl.report.workshop import Workshop


def heat(**changes: object) -> Verdict:
    known = {
        "seed": 7,
        "oven": "tempering-oven",
        "faults": ("sensor-open@90s",),
        "rows": ("sensor-open",),
        "segment_kind": "soak",
        "outcome": "tripped",
        "cause": "sensor_lost",
        "peak_c": 40.0,
        "found_s": 2.0,
    }
    return Verdict(**{**known, **changes})  # type: ignore[arg-type]


def test_the_exit_code_tells_a_failure_before_a_stop() -> None:
    assert exit_code([heat()], 1) == 0
    assert exit_code([heat()], 2) == 5
    assert exit_code([heat(unsafe="truly 300 °C")], 2) == 4


def test_the_page_names_what_was_cut_by_what_and_every_failure(capsys) -> None:
    blind = heat(
        faults=("sensor-copper@0s",),
        rows=("sensor-copper",),
        cause="",
        outcome="complete",
        found_s=None,
        noticeable=False,
        untrue="a soak was +35 K off",
        stands_in="dated reference check",
    )
    verdicts = [heat(), blind, heat(seed=8, unsafe="truly 300 °C, 260 °C allowed")]
    print_document(prove_page("a job", verdicts, 3, Workshop()), 110)
    said = " ".join(capsys.readouterr().out.split())
    assert "sensor lost" in said
    assert "reference check" in said
    assert "seed 8: sensor-open@90s truly 300 °C" in said
    named = "(copper extension, head at 60 °C (sensor-copper))"
    assert f"1 heat called itself complete on a reading that was wrong {named}" in said
    assert "3 heats: 2 cut, 1 not cut; 1 unsafe." in said
    assert "the sensor's circuit is open (sensor-open)" in said


def test_the_page_of_a_stopped_trial_says_so(capsys) -> None:
    print_document(prove_page("a job", [heat()], 200, Workshop()), 110)
    said = " ".join(capsys.readouterr().out.split())
    assert "1 of 200 heats, then stopped by a person: 1 cut" in said


def test_a_trial_stopped_before_its_first_heat_calls_nothing_as_it_should_be(capsys) -> None:
    print_document(prove_page("a job", [], 200, Workshop()), 110)
    said = " ".join(capsys.readouterr().out.split())
    assert "0 of 200 heats, then stopped by a person: nothing was tried" in said
    assert "should be" not in said


def test_heats_cut_by_luck_are_named_so_that_head_and_table_agree(capsys) -> None:
    lucky = heat(faults=("sensor-copper@0s",), rows=("sensor-copper",), noticeable=False)
    print_document(prove_page("a job", [lucky], 1, Workshop()), 110)
    said = " ".join(capsys.readouterr().out.split())
    assert "1 heat: 0 cut, 1 cut by luck, 0 not cut" in said
    assert "1 heat was cut by luck" in said
    assert "`" not in said


def test_a_heat_that_was_not_cut_says_why_not(capsys) -> None:
    uncut = {"cause": "", "outcome": "complete", "found_s": None}
    verdicts = [
        heat(rows=("board-reset",), **uncut),
        heat(rows=("ambient-shift:10",), **uncut),
        heat(rows=("sensor-copper",), noticeable=False, stands_in="dated reference check", **uncut),
        heat(rows=("sensor-gain:1.1",), untrue="a soak was +35 K off", **uncut),
        heat(rows=("sensor-open",), unsafe="truly 300 °C", **uncut),
    ]
    print_document(prove_page("a job", verdicts, 4, Workshop()), 110)
    table = capsys.readouterr().out.partition("What was tried")[2].partition("What software could not")[0]
    rows = [" ".join(line.split()) for line in table.splitlines()]
    for fault, why in (
        ("the board restarts as it boots (board-reset)", "no cut needed"),
        ("the room is", "no cut needed"),
        ("copper extension", "software cannot see it"),
        ("a wrong correction", "software cannot see it"),
        ("the sensor's circuit is open", "see above"),
    ):
        assert any(row.startswith(fault) and why in row for row in rows), table


def test_a_miss_is_not_called_unseen_for_another_heat_nor_a_harmless_fault_for_its_pair(capsys) -> None:
    uncut = {"cause": "", "outcome": "complete", "found_s": None}
    verdicts = [
        heat(rows=("sensor-open",), unsafe="truly 300 °C", **uncut),
        heat(rows=("sensor-open",), untrue="a soak was +35 K off", **uncut),
        heat(rows=("ambient-shift:10",), **uncut),
        heat(rows=("ambient-shift:10", "sensor-gain:1.1"), untrue="a soak was +35 K off", **uncut),
    ]
    print_document(prove_page("a job", verdicts, 4, Workshop()), 110)
    table = capsys.readouterr().out.partition("What was tried")[2].partition("What software could not")[0]
    rows = [" ".join(line.split()) for line in table.splitlines()]
    for fault, why in (("the sensor's circuit is open", "see above"), ("the room is", "no cut needed")):
        assert any(row.startswith(fault) and why in row for row in rows), table


def test_each_complaint_has_words() -> None:
    assert complaint(heat()) == ""
    assert (
        complaint(heat(late="sensor-open for 99 s, 30 s allowed"))
        == "late: sensor-open for 99 s, 30 s allowed"
    )
    assert "another cause" in complaint(heat(other_cause=True))
    assert "false trip" in complaint(heat(false_trip="smoke: it speaks"))
