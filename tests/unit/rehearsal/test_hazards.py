"""The page of hazards is whole, and each of its words stands on something."""

from kilnctl.rehearsal.detection_table import EXPECTED
from kilnctl.rehearsal.hazards import COUNT, ELSEWHERE, page, summary_of
from kilnctl.rehearsal.judge import Verdict
from kilnctl.rehearsal.lateness import ALLOWED

OVEN = "tempering-oven"


def test_every_row_without_a_number_is_harmless_or_has_a_safeguard() -> None:
    for key, row in EXPECTED.items():
        everywhere = any(not number.needs for number in ALLOWED.get(key, ()))
        assert row.causes or row.stands_in or not row.lies, key
        assert row.stands_in or everywhere or not row.lies or key not in ALLOWED, key
        assert row.asked or row.stands_in, key


def test_all_79_hazards_are_on_the_page_and_every_test_that_it_names_is_there(request) -> None:
    text = page([], "")
    assert [n for n in range(1, COUNT + 1) if f"| H{n:02d} |" not in text] == []
    tests = request.config.rootpath / "tests"
    for _, test in ELSEWHERE.values():
        if test:
            name, _, function = test.partition("::")
            assert f"def {function}" in (tests / name).read_text(encoding="utf-8"), test


def test_the_row_of_a_fault_tells_median_and_worst() -> None:
    def heat(found_s: float | None, noticeable: bool = True) -> Verdict:
        cause = "" if found_s is None else "sensor_lost"
        return Verdict(
            1, OVEN, ("sensor-open@1s",), ("sensor-open",), "soak", "", cause, 20.0, noticeable, 20.0, found_s
        )

    row = summary_of([heat(1.0), heat(2.0), heat(9.0), heat(None, noticeable=False)], "sensor-open")
    assert (row.heats, row.cut, row.median_s, row.worst_s, row.blind) == (4, 3, 2.0, 9.0, 1)
