import os
from collections.abc import Callable
from pathlib import Path

import pytest

from kilnctl.marks import mark_file

ODD: dict[str, Callable[[Path], object]] = {
    "a pipe": os.mkfifo,
    "a folder": Path.mkdir,
    "a link": lambda path: path.symlink_to("/etc/hostname"),
    "a link to itself": lambda path: path.symlink_to(path),
    "a link to an endless file": lambda path: path.symlink_to("/dev/zero"),
    "sixteen gigabytes of nothing": lambda path: (path.touch(), os.truncate(path, 1 << 34)),
}


@pytest.mark.parametrize("odd", ODD)
def test_what_is_no_small_file_is_refused_at_once_and_replaced_whole(odd: str, tmp_path: Path) -> None:
    path = tmp_path / "mark.json"
    ODD[odd](path)
    with pytest.raises(OSError):  # noqa: PT011  which one depends on what lies there
        mark_file.text(path)
    if path.is_dir():
        with pytest.raises(IsADirectoryError):
            mark_file.put(path, "words")
        return
    mark_file.put(path, "words")
    assert mark_file.text(path) == "words"
    assert list(tmp_path.iterdir()) == [path]


def test_a_link_is_followed_where_a_person_may_have_made_it(tmp_path: Path) -> None:
    (tmp_path / "own.toml").write_text("words", encoding="utf-8")
    (tmp_path / "oven.toml").symlink_to(tmp_path / "own.toml")
    assert mark_file.read(tmp_path / "oven.toml", follow=True) == b"words"
