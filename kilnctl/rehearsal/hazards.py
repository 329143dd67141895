"""The table of hazards as the campaign has seen them: for builders, one row a hazard.

Rows that a simulated board cannot play name the test that shows them instead, or what protects where no
software can see.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from statistics import median

from kilnctl.rehearsal.detection_table import EXPECTED
from kilnctl.rehearsal.judge import Verdict
from kilnctl.rehearsal.lateness import ALLOWED

COUNT = 79
_PERSON = "not detectable by software: "
_RESUME = "unit/permits/test_resume_rules.py"
# What stands for a row that no fault of one simulated board plays: what acts, and the test that shows it.
ELSEWHERE: dict[str, tuple[str, str]] = {
    "H15": (
        "crossed ovens; heater pulse",
        "unit/interlocks/test_crossed_ovens.py::test_an_idle_oven_that_warms_up",
    ),
    "H20": (_PERSON + "isolate before touching; both contactors drop", ""),
    "H22": (
        "crossed ovens; heater pulse",
        "unit/interlocks/test_crossed_ovens.py::test_an_idle_oven_that_warms_up",
    ),
    "H34": ("bus check", "protocol/test_probe.py::test_two_devices_with_one_address"),
    "H37": ("identity", "protocol/test_oven_io.py::test_another_device_that_answers_in_mid_run"),
    "H38": ("supervisor; late tick", "faults/test_process_kill.py::test_a_stopped_controller"),
    "H39": ("outermost handler", "unit/heat/test_runner.py::test_an_exception_anywhere_in_the_tick"),
    "H40": ("supervisor, then the board's dead-man", "faults/test_process_kill.py::test_a_killed_controller"),
    "H42": ("computer asleep", "unit/interlocks/test_clocks.py::test_a_sleep_of_the_computer_trips"),
    "H43": ("wall clock (told)", "unit/interlocks/test_clocks.py::test_a_stepped_wall_clock_is_told"),
    "H44": ("recorder (told)", "faults/test_process_kill.py::test_a_full_disk_does_not_end_a_running_temper"),
    "H45": ("recorder (told)", "unit/logbook/test_recorder.py::test_a_locked_file_is_waited_for_and_told"),
    "H46": ("refused", "unit/config/test_oven_file.py::test_mistakes_are_one_clear_line_with_line_number"),
    "H47": ("age of the picture", "dashboard/test_stale.py::test_grey_at_three_seconds"),
    "H48": ("supervisor", "faults/test_process_kill.py::test_a_killed_supervisor_takes_the_heat_with_it"),
    "H50": ("stays off", _RESUME + "::test_what_austenitises_never_goes_on_by_itself"),
    "H51": ("one key", _RESUME + "::test_a_temper_goes_on_by_a_key_with_what_the_parameter_leaves"),
    "H52": ("a person", _RESUME + "::test_a_slow_cooling_is_judged_by_the_rate_in_the_dark"),
    "H53": ("stays off", _RESUME + "::test_each_condition_of_the_key"),
    "H58": ("steady control", "unit/interlocks/test_control_swing.py::test_growing_swings_stop"),
    "H59": ("refused", "reference/test_trade_practice.py::test_830_fahrenheit_never_hardens"),
    "H60": ("refused", "unit/heat/test_runner.py::test_a_profile_above_the_limit_is_refused"),
    "H61": (
        _PERSON + "the acknowledged line before the heat",
        "unit/permits/test_permit.py::test_all_fresh_shows_six_lines_with_live_values_and_grants_when_all_are_taken",
    ),
    "H62": ("no start by itself", "unit/permits/test_cautions.py::test_open_door_open_limit_and_no_reading"),
    "H63": (_PERSON + "a person with a thermometer at the bath", ""),
    "H64": (_PERSON + "look at the oil before the heat", ""),
    "H65": ("heat off", "unit/heat/test_runner.py::test_an_unanswered_step_ends_with_heat_off"),
    "H66": (
        "horn; no protective layer",
        "unit/heat/telling/test_horn_patterns.py::test_every_call_sounds_different",
    ),
    "H67": ("refused", "unit/link/test_server.py::test_the_socket_is_for_its_owner_alone"),
    "H68": (_PERSON + "a dedicated oven, asked at the set-up", ""),
    "H71": (
        "refused; " + _PERSON + "what is in the chamber",
        "unit/treatment/test_chain.py::test_a_sealed_hollow",
    ),
    "H73": (
        "sign until cold",
        "unit/heat/telling/test_snapshot_builder.py::test_an_oven_is_called_hot_until_it_is_below_50_c",
    ),
    "H77": (
        "all interlocks",
        "unit/learning/test_identification_run.py::test_a_sound_oven_is_heated_with_pauses",
    ),
    "H79": ("identity", "protocol/test_oven_io.py::test_marked_simulated_on_a_real_port_is_refused"),
}


@dataclass(frozen=True, slots=True)
class HazardSeen:
    """One fault of a hazard in the campaign.

    Of the heats in which software could see it: how many were cut, by what, and after how many seconds from
    the fault's beginning (median, worst) and of exposure (worst). `blind`: heats in which it could not.
    """

    fault: str
    heats: int
    cut: int
    by: str
    median_s: float | None
    worst_s: float | None
    exposed_s: float | None
    blind: int
    stands_in: str
    asked: str


def summary_of(verdicts: Sequence[Verdict], key: str) -> HazardSeen:
    """Return what became of one fault, from the heats in which it was alone."""
    mine = [v for v in verdicts if v.rows == (key,) and not v.false_trip]
    row = EXPECTED[key]
    fair = [v for v in mine if v.noticeable or key not in ALLOWED]
    cut = [v for v in fair if v.found_s is not None]
    found = [v.found_s for v in cut if v.found_s is not None]
    causes = sorted({v.cause for v in cut}, key=lambda c: -sum(v.cause == c for v in cut))
    return HazardSeen(
        fault=key,
        heats=len(mine),
        cut=len(cut),
        by=", ".join(causes).replace("_", " "),
        median_s=median(found) if found else None,
        worst_s=max(found, default=None),
        exposed_s=max((v.exposed_s for v in cut), default=None),
        blind=len(mine) - len(fair),
        stands_in=row.stands_in,
        asked=row.asked,
    )


def page(verdicts: Sequence[Verdict], origin: str) -> str:
    """Return the table as Markdown; `said` tells how the heats were made."""
    lines = [
        "# Hazards, as the campaign has seen them",
        "",
        origin,
        "",
        "Seconds from the fault's beginning to heat off, median (worst) and [worst exposure: seconds in",
        "which heat was wanted]. What begins while the heat is off is found when heat is next wanted.",
        "`blind`: heats on ovens without the signal that would show it; what stands in is named.",
        "",
        "| row | fault or cause | heats | cut | by | seconds | asked | blind: what stands in |",
        "|---|---|---|---|---|---|---|---|",
    ]
    for number in range(1, COUNT + 1):
        lines += _rows(f"H{number:02d}", verdicts)
    return "\n".join(lines) + "\n"


def _rows(hazard: str, verdicts: Sequence[Verdict]) -> list[str]:
    keys = [key for key, row in EXPECTED.items() if hazard in row.rows.split()]
    made = [_line(hazard, summary_of(verdicts, key)) for key in keys]
    if hazard in ELSEWHERE:
        acts, test = ELSEWHERE[hazard]
        shown = f"`tests/{test}`" if test else ""
        made.append(f"| {hazard} | {acts} | – | – | – | – | – | {shown} |")
    return made


def _line(hazard: str, s: HazardSeen) -> str:
    times = "–"
    if s.median_s is not None:
        times = f"{s.median_s:.0f} ({s.worst_s:.0f}) [{s.exposed_s:.0f}]"
    blind = f"{s.blind}: {s.stands_in}" if s.stands_in else ""
    if s.fault not in ALLOWED:
        blind = s.stands_in or "harmless: the heat may go on"
    cells = (hazard, s.fault, str(s.heats), str(s.cut), s.by or "–", times, s.asked or "–", blind)
    return f"| {' | '.join(cells)} |"
