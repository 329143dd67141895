"""Files that people edit: every mistake is one line with file, line and key."""

import contextlib
from pathlib import Path
from typing import Annotated, Literal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import Field

from kilnctl.errors import ConfigError, ProfileError
from kilnctl.profile.segments import Profile
from kilnctl.quantities import PointC
from kilnctl.tomlfile import Strict, load, loads


class Leaf(Strict):
    kind: Literal["leaf"]
    to_c: PointC = Field(alias="to")


class Twig(Strict):
    kind: Literal["twig"]


class Tree(Strict):
    name: str
    size: float = 1.0
    part: tuple[Annotated[Leaf | Twig, Field(discriminator="kind")], ...] = ()


GOOD = 'name = "t"\n\n[[part]]\nkind = "twig"\n\n[[part]]\nkind = "leaf"\nto = "218 C"\n'


def said(text: str) -> str:
    with pytest.raises(ConfigError) as caught:
        loads(text, Tree, ConfigError, "tree.toml")
    return str(caught.value)


def test_a_good_file_is_read() -> None:
    assert loads(GOOD, Tree, ConfigError, "tree.toml").part[1] == Leaf(kind="leaf", to="218 C")


def test_a_bad_value_is_named_by_line_and_key_without_the_union_tag() -> None:
    message = said(GOOD.replace("218 C", "42O F"))
    assert message == (
        'tree.toml:8: part[2].to: cannot read \'42O F\' as a temperature; write it like "218 C" or "425 F"'
    )


@pytest.mark.parametrize(
    ("change", "expected"),
    [
        (("name", "nmae"), "tree.toml:1: nmae: unknown key"),
        (('"218 C"', "218"), 'tree.toml:8: part[2].to: 218 needs a unit: write "218 C"'),
        (('"218 C"', "nan"), "tree.toml:8: part[2].to: nan is not a temperature"),
        (('name = "t"', 'name = "t"\nsize = nan'), "tree.toml:2: size: "),
        (('name = "t"', 'name = "t"\nsize = "3"'), "tree.toml:2: size: "),
        (('kind = "leaf"', 'kind = "lief"'), "part[2]"),
        (("[[part]]", "[[part"), "tree.toml: not a TOML file"),
        (('"218 C"', "“218 C”"), '; write straight quotes: "'),
        (('"218 C"', "218,5"), "; write a point, no comma: 218.5"),
        (('"218 C"', "218 C"), '; write a text in quotes: "218 C"'),
        (('"218 C"', '"218 C'), '; a quote " is missing'),
        (("218 C", "218 С"), "С is no Latin letter"),
    ],
)
def test_each_mistake_has_its_line(change: tuple[str, str], expected: str) -> None:
    assert expected in said(GOOD.replace(*change, 1) if change[0] != "name" else GOOD.replace("name", "nmae"))


def test_an_empty_file_and_a_missing_key_say_so() -> None:
    assert said("# nothing\n") == "tree.toml: the file is empty"
    assert "name: is missing" in said("size = 2.0\n")


def test_a_missing_and_an_unreadable_file(tmp_path: Path) -> None:
    with pytest.raises(ConfigError, match=r"none\.toml: cannot be read: No such file"):
        load(tmp_path / "none.toml", Tree, ConfigError)
    (tmp_path / "bin.toml").write_bytes(b"\xff\xfe\x00")
    with pytest.raises(ConfigError, match="not UTF-8 text"):
        load(tmp_path / "bin.toml", Tree, ConfigError)


@given(st.text(max_size=200))
def test_no_text_brings_a_traceback(text: str) -> None:
    with contextlib.suppress(ProfileError):
        loads(text, Profile, ProfileError, "p.toml")


@given(st.integers(0, 300), st.sampled_from(['"', "]", "[[", "nan", "\x00", "=", "C", "9", "\n", "{"]))
def test_no_damaged_profile_brings_a_traceback(at: int, junk: str) -> None:
    text = 'name = "x"\n[[segment]]\nkind = "soak"\nat = "218 C"\ntime = "2h"\nband = "5 K"\n'
    with contextlib.suppress(ProfileError):
        loads(text[:at] + junk + text[at + 1 :], Profile, ProfileError, "p.toml")


SEGMENTS = 'name = "x"\n[[segment]]\nkind = "soak"\nat = "218 C"\ntime = "2h"\n'


def test_a_mistake_in_the_only_segment_is_said_once() -> None:
    """The list is not called empty beside it."""
    with pytest.raises(ProfileError) as caught:
        loads(SEGMENTS.replace("2h", "2"), Profile, ProfileError, "p.toml")
    assert str(caught.value).split("\n") == [
        'p.toml:5: segment[1].time: cannot read \'2\' as a duration; write it like "2h 30min" or "90 s"'
    ]
    with pytest.raises(ProfileError, match="nothing would be done"):
        loads('name = "x"\nsegment = []\n', Profile, ProfileError, "p.toml")


def test_a_file_that_is_wrong_all_over_shows_its_first_mistakes() -> None:
    message = said(GOOD + "\n".join(f"wrong_{n} = 1" for n in range(500)))
    assert len(message.split("\n")) == 11
    assert message.endswith("tree.toml: and 490 more mistakes")


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("size = " + "9" * 5000, "tree.toml: not a TOML file: a number with too many digits"),
        ("size = " + "[" * 5000, "tree.toml: not a TOML file: nested too deeply"),
        ("size = " + "[" * 300 + "]" * 300, "tree.toml: "),
        ('name = "a\\nb"', "tree.toml:1: name: write one line"),
        ('name = "a\\u001b[2J"', "tree.toml:1: name: write one line"),
        ('name = "a\\u202eb"', "tree.toml:1: name: write one line"),
        (f'name = "{"x" * 1001}"', "tree.toml:1: name: write one line"),
        ('name = "t"\n"a\\u001bb" = 1', "tree.toml:2: a?b: unknown key"),
        ('name = "t"\n[[part]]\nkind = "leaf"\nto = ' + "9" * 400, "is not a temperature"),
        ("name = 3", "tree.toml:1: name: must be a text in quotes"),
        ('name = "t"\npart = 3', "tree.toml:2: part: must be a list in brackets"),
        ('name = "t"\npart = [3]', "tree.toml:2: part[1]: must be a table of keys and values"),
        ('name = "t"\n[[part]]\nkind = "lief"', "tree.toml:2: part[1]: must be one of 'leaf', 'twig'"),
    ],
)
def test_what_fuzzing_found_is_one_clear_line(text: str, expected: str) -> None:
    message = said(text)
    assert expected in message
    assert all(len(line) <= 300 and line.isprintable() for line in message.split("\n"))


def test_a_file_that_would_take_minutes_to_be_found_wrong_is_refused_at_once(tmp_path: Path) -> None:
    path = tmp_path / "big.toml"
    path.write_text("# x\n" * 300_000)
    with pytest.raises(ConfigError, match="1 MB at most"):
        load(path, Strict, ConfigError)
    path.write_text(".".join(["a"] * 50_000) + " = 1\n")
    with pytest.raises(ConfigError, match="nested too deeply"):
        load(path, Strict, ConfigError)


def test_the_mark_that_some_editors_write_first_is_no_mistake(tmp_path: Path) -> None:
    path = tmp_path / "marked.toml"
    path.write_text("\ufeffcolour = 1\n", encoding="utf-8")
    with pytest.raises(ConfigError, match=r"marked\.toml:1: colour: unknown key"):
        load(path, Strict, ConfigError)


def test_a_link_to_an_endless_device_is_refused(tmp_path: Path) -> None:
    (tmp_path / "oven.toml").symlink_to("/dev/zero")
    with pytest.raises(ConfigError, match="is a device, no file"):
        load(tmp_path / "oven.toml", Tree, ConfigError)
