"""Who is asked for a port sees which there are, by the names that stay the same."""

from pathlib import Path

from kilnctl.cli.oven.oven_file.asking.ports_here import in_words, ports_here


def test_names_that_stay_come_first_and_none_is_said(tmp_path: Path) -> None:
    named = tmp_path / "by-id"
    (tmp_path / "ttyUSB3").touch()
    assert ports_here(named, tmp_path) == [str(tmp_path / "ttyUSB3")]
    named.mkdir()
    (named / "usb-invented-if00").touch()
    assert ports_here(named, tmp_path) == [str(named / "usb-invented-if00")]
    assert "usb-invented" in in_words(ports_here(named, tmp_path))
    assert "No serial adapter" in in_words([])
