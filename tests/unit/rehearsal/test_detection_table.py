"""How soon each fault must be seen, and why."""

from kilnctl.config.home import bundled
from kilnctl.rehearsal import lateness
from kilnctl.rehearsal.detection_table import EXPECTED, TOGETHER
from kilnctl.rehearsal.lateness import ALLOWED


def test_every_number_larger_than_the_lists_has_a_reason_and_stands_on_the_page() -> None:
    for key, rows in ALLOWED.items():
        assert key in EXPECTED
        for row in rows:
            assert row.why or (row.asked_s is not None and row.within_s <= row.asked_s), key
    shown = (bundled("ovens").parents[1] / "kilnctl/rehearsal/LATENESS.md").read_text(encoding="utf-8")
    assert shown == lateness.page()


def test_faults_that_come_together_have_rows() -> None:
    assert {f.partition("@")[0] for faults in TOGETHER.values() for f in faults} <= set(EXPECTED)
