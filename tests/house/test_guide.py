"""The guide is held to the code: every key of a file is told, every example loads, every link leads on."""

import re
import shlex
from itertools import chain
from pathlib import Path

import pytest
from cyclopts import CycloptsError, MissingArgumentError
from heats import one_run
from pydantic import BaseModel

from kilnctl.cli.main import COMMANDS, app, run
from kilnctl.config import home
from kilnctl.errors import ConfigError, ProfileError
from kilnctl.guide.pages import SECTIONS, page, pages
from kilnctl.logbook.sample import COLUMNS
from kilnctl.logbook.writer import Logbook
from kilnctl.profile import segments
from kilnctl.profile.segments import Profile
from kilnctl.report.csv_export import HEAD
from kilnctl.tomlfile import Strict, loads
from kilnctl.treatment.recipe import recipes, treatments
from kilnctl.treatment.recipe.recipes import Recipe
from kilnctl.treatment.steel import sourced_values, steels
from kilnctl.treatment.steel.steels import Steel

GUIDE = Path("kilnctl/guide")
FOLLOWED = ("look-after-an-oven",)  # pages whose commands are typed here, in a fresh home
FILES = {"recipe-file": Recipe, "profile-file": Profile, "steel-card": Steel}
MODULES = {
    "recipe-file": (recipes, treatments),
    "profile-file": (segments,),
    "steel-card": (steels, sourced_values),
}
# Written in the file under other names (a band as `at`, or `from` and `to`), or kept inside a table of names.
INNER = {"low_c", "high_c"}


def told(text: str) -> set[str]:
    """Return the keys in the tables of a page: the words in back quotes of a row."""
    rows = re.findall(r"^\|(.+)\|$", text, re.M)
    return set(re.findall(r"`([a-z_0-9]+)`", " ".join(rows)))


def keys_of(*modules: object) -> set[str]:
    models = [
        m for m in chain(*(vars(module).values() for module in modules))
        if isinstance(m, type) and issubclass(m, BaseModel) and m is not Strict
    ]  # fmt: skip
    return {f.alias or name for m in models for name, f in m.model_fields.items()} - INNER


@pytest.mark.parametrize("topic", FILES)
def test_every_key_of_a_file_is_told(topic: str) -> None:
    assert keys_of(*MODULES[topic]) - told(page(topic).text()) == set()


@pytest.mark.parametrize("topic", FILES)
def test_every_example_of_a_file_loads(topic: str) -> None:
    examples = re.findall(r"```toml\n(.*?)```", page(topic).text(), re.S)
    assert examples
    for example in examples:
        loads(example, FILES[topic], ProfileError, topic)


def test_every_column_of_the_csv_is_told() -> None:
    assert set(HEAD) - told(page("csv-export").text()) == set()
    assert len(COLUMNS) > 20


def test_every_table_and_column_of_the_logbook_is_told() -> None:
    with Logbook(None) as book:
        tables = [
            name for (name,) in book.connection.execute("SELECT name FROM sqlite_schema WHERE type='table'")
        ]
        columns = {
            row[1] for table in tables for row in book.connection.execute(f"PRAGMA table_info({table})")
        }
    assert {*tables, *columns} - told(page("logbook").text()) <= {"sqlite_sequence", "name", "seq"}


def test_every_exit_code_is_told() -> None:
    readme = re.findall(r"^\| *(\d+) *\|", Path("README.md").read_text(encoding="utf-8"), re.M)
    assert set(readme) <= set(re.findall(r"^\| (\d+) \|", page("exit-codes").text(), re.M))


@pytest.mark.parametrize("topic", [p.topic for p in pages()])
def test_every_link_of_a_page_leads_to_a_file(topic: str) -> None:
    found = page(topic)
    for link in re.findall(r"\]\(([^)#]+)", found.text()):
        assert link.startswith("https://") or (found.path.parent / link).is_file(), link


@pytest.mark.parametrize("topic", [p.topic for p in pages()])
def test_every_command_that_a_page_names_exists(topic: str) -> None:
    text = page(topic).text()
    blocks = "\n".join(re.findall(r"```(?:sh)?\n(.*?)```", text, re.S))
    named = set(re.findall(r"^kilnctl ([a-z-]+)", blocks, re.M)) | set(
        re.findall(r"`kilnctl ([a-z-]+)", text)
    )
    assert named <= set(COMMANDS)


def commands_of(text: str) -> tuple[list[str], list[str]]:
    """Return the commands that a text has in blocks, whole, and in its sentences, perhaps in short."""
    blocks = "\n".join(re.findall(r"```(?:sh)?\n(.*?)```", text, re.S)).replace("\\\n", " ")
    whole = re.findall(r"^\s*(kilnctl .*)$", blocks, re.M)
    return whole, re.findall(r"`(kilnctl [a-z][^`\n]*)`", text)


def why_not_typed(command: str, in_short: bool) -> str:
    """Return why the command library would not take a command; nothing is run. RUN stands for a number."""
    words = [re.sub("^RUN$", "7", word) for word in shlex.split(command, comments=True)[1:]]
    try:
        app().parse_args(words, exit_on_error=False, print_error=False)
    except MissingArgumentError as e:
        return "" if in_short else str(e)
    except CycloptsError as e:
        return str(e)
    return ""


def test_every_command_of_guide_and_readme_can_be_typed() -> None:
    """With its options and its values. Seen to fail on an option that is not there, and on a wrong number."""
    texts = {p.topic: p.text() for p in pages()} | {"README": Path("README.md").read_text(encoding="utf-8")}
    asked = [
        (topic, one, n == 1) for topic, text in texts.items() for n in (0, 1) for one in commands_of(text)[n]
    ]
    assert len(asked) > 200
    wrong = {(topic, one): why_not_typed(one, in_short) for topic, one, in_short in asked}
    assert {which: why for which, why in wrong.items() if why} == {}


@pytest.mark.usefixtures("own_home")
@pytest.mark.parametrize("topic", FOLLOWED)
def test_what_a_page_tells_to_type_works_in_the_order_given(
    topic: str, capsys: pytest.CaptureFixture[str]
) -> None:
    lines = [
        line
        for block in re.findall(r"```sh\n(.*?)```", page(topic).text(), re.S)
        for line in block.splitlines()
    ]
    assert lines
    for line in lines:
        assert run(shlex.split(line)[1:]) == 0, f"{line}\n{capsys.readouterr().err}"


def test_every_command_of_care_is_told() -> None:
    from kilnctl.cli.oven.care import care

    names = {name for name in care if not name.startswith("-")}
    assert {
        name for name in names if f"kilnctl care {name} " not in page("look-after-an-oven").text()
    } == set()


def test_topics_are_told_apart_and_every_page_has_a_title() -> None:
    found = pages()
    assert len({p.topic for p in found}) == len(found)
    assert {p.section for p in found} == set(SECTIONS)
    assert all(p.title for p in found)


def test_the_command_lists_prints_and_offers_the_nearest(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["guide"]) == 0
    listed = capsys.readouterr().out
    assert all(p.topic in listed and p.title in listed for p in pages())
    assert run(["guide", "soak-clock"]) == 0
    assert capsys.readouterr().out.strip() == page("soak-clock").text().strip()
    assert run(["guide", "commands"]) == 0
    every = capsys.readouterr().out
    assert all(f"kilnctl {name}" in every for name in COMMANDS)
    assert run(["guide", "soak-clok"]) == 2
    assert 'did you mean "soak-clock"' in capsys.readouterr().err


def test_an_unknown_topic_is_an_error_of_one_line() -> None:
    with pytest.raises(ConfigError, match="lists the topics"):
        page("qqqq")


# What needs an oven, a board or a person at the screen; the tutorial and tests/faults run these over a wire.
AT_AN_OVEN = ("run", "tune", "commission", "watch", "simulate", "reset", "oven")


@pytest.fixture
def shop(own_home: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Return a folder to work in; two heats of gouges are in the logbook; invented."""
    work = tmp_path / "work"
    work.mkdir()
    monkeypatch.chdir(work)
    with Logbook(home.logbook_path()) as book:
        for part in ("gouge-7", "gouge-8"):
            one_run(book, count=120, part=part)
    return work


@pytest.mark.parametrize(
    "topic", ["choose-a-steel", "keep-the-record", "own-results", "own-steel", "own-thermostat", "own-oven"]
)
def test_what_a_page_shows_without_an_oven_works_in_the_order_given(
    shop: Path, topic: str, capsys: pytest.CaptureFixture[str]
) -> None:
    if topic == "own-oven":  # its own commands write it by asking
        text = (home.bundled("ovens") / "tempering-oven.toml").read_text(encoding="utf-8")
        own = home.home() / "ovens" / "my-oven.toml"
        own.parent.mkdir()
        own.write_text(text.replace('name = "tempering-oven"', 'name = "my-oven"'), encoding="utf-8")
    typed = [shlex.split(line, comments=True)[1:] for line in commands_of(page(topic).text())[0]]
    for words in [words for words in typed if words[0] not in AT_AN_OVEN]:
        assert run(words) == 0, f"{words}\n{capsys.readouterr().err}"
