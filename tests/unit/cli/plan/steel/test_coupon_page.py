"""Trials of an unknown steel: planned once, then read."""

import pytest

from kilnctl.cli.main import run


@pytest.mark.usefixtures("own_home")
def test_trials_that_are_planned_take_no_other_bath(
    tmp_path: object, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(str(tmp_path))
    assert run(["steel", "coupons", "yard", "--section", "4 mm", "--medium", "water or brine"]) == 0
    assert run(["steel", "coupons", "yard"]) == 0
    capsys.readouterr()
    assert run(["steel", "coupons", "yard", "--section", "6 mm", "--medium", "fast oil"]) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert said.err.endswith("yard.toml: leave out --section, --medium\n")
