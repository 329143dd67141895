"""Hardness by files and by a tester: the worked examples of the job, invented parts."""

import pytest

from kilnctl.care.hardness_tests import by_files, by_tester
from kilnctl.errors import ConfigError


def test_files_give_an_interval() -> None:
    found = by_files("gouge 7", [(55.0, "skates"), (60.0, "cuts")], bare_metal=True)  # J25
    assert (found.low_hrc, found.high_hrc, found.words) == (55.0, 60.0, "55–60 HRC")
    assert by_files("p", [(65.0, "cuts")], True).words == "below 65 HRC"
    assert by_files("p", [(50.0, "skates"), (55.0, "skates")], True).words == "above 55 HRC"


def test_contradictory_files_are_not_averaged() -> None:
    found = by_files("gouge 7", [(55.0, "cuts"), (60.0, "skates")], bare_metal=True)
    assert "contradictory" in found.words
    assert (found.low_hrc, found.high_hrc) == (None, None)


def test_a_tester_is_corrected_by_its_block() -> None:
    found = by_tester("gouge 7", [58.1, 58.4, 57.7], (60.0, 60.9), bare_metal=True)  # J25
    assert "mean 58.1" in found.words
    assert "block-corrected 57.2" in found.words
    assert found.low_hrc == pytest.approx(56.8)


def test_scale_is_warned_of() -> None:
    assert "bare metal" in by_files("p", [(60.0, "skates")], bare_metal=False).words
    assert "bare metal" in by_tester("p", [58.0], None, bare_metal=False).words


def test_nonsense_is_refused() -> None:
    with pytest.raises(ConfigError, match="neither"):
        by_files("p", [(60.0, "slides")], True)
    with pytest.raises(ConfigError, match="at least one"):
        by_files("p", [], True)
    with pytest.raises(ConfigError, match="at least one"):
        by_tester("p", [], None, True)
    with pytest.raises(ConfigError, match="block"):
        by_tester("p", [58.0], (60.0, 66.0), True)


def test_a_vickers_block_corrects_in_vickers_and_the_conversion_says_its_scatter() -> None:
    """697 HV are 60 HRC (ASTM E140, printed); an error in HV is a share of the reading (ISO 6507-2)."""
    found = by_tester("p", [710.9, 704.0, 717.9], (700.0, 714.0), True, scale="HV")
    assert "mean 711 HV of 3 (704–718)" in found.words
    assert "block-corrected 697 HV" in found.words
    assert "60 HRC by ASTM E140, good to ±1.5 HRC" in found.words
    assert (found.low_hrc, found.high_hrc) == (pytest.approx(59.7, abs=0.1), pytest.approx(60.3, abs=0.1))
    assert (found.readings, found.block, found.scale) == ((710.9, 704.0, 717.9), (700.0, 714.0), "HV")
    assert "by ASTM E140" not in by_tester("p", [60.0], (60.0, 60.4), True).words  # nothing was converted


def test_a_vickers_tester_that_is_far_out_is_not_corrected() -> None:
    with pytest.raises(ConfigError, match="adjusted"):
        by_tester("p", [700.0], (700.0, 590.0), True, scale="HV")  # 60 HRC reads 55
    with pytest.raises(ConfigError, match="conversion table"):
        by_tester("p", [1200.0], None, True, scale="HV")
