"""Whose seconds are they? What a number judges where two faults come together."""

import pytest

from kilnctl.config.home import bundled
from kilnctl.config.oven import load_oven
from kilnctl.rehearsal.detection_table import number_for
from kilnctl.rehearsal.dry_run import parse_faults
from kilnctl.rehearsal.lateness import spoiled

OVEN = load_oven(bundled("ovens") / "tempering-oven.toml")


@pytest.mark.parametrize("other", ["relay-welded@9", "half-wave@9", "relay-sticky@9:0.05"])
def test_heat_through_a_bad_relay_is_not_the_strays(other: str) -> None:
    by = spoiled(parse_faults([other])[0])
    assert number_for("stray-on", OVEN, True) is not None
    assert number_for("stray-on", OVEN, True, spoils=by) is None


def test_a_stray_on_hides_no_weld() -> None:
    by = spoiled(parse_faults(["stray-on@9"])[0])
    found = number_for("relay-welded", OVEN, True, spoils=by)
    assert found is not None
    assert found.within_s == 2.0
