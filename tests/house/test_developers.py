"""The page for whoever comes next: what it names is there, and questions end at the second opening."""

import importlib
import re
import tomllib
from pathlib import Path

import pytest

TOP = Path(__file__).parents[2]
PAGE = (TOP / "DEVELOPERS.md").read_text(encoding="utf-8")
ROWS = re.findall(r"^\| ([^|]+) \| ([^|]+) \|$", PAGE, re.M)
MODULES = sorted(set(re.findall(r"python -m ((?:tests|explorer|histories)[\w.]*)", PAGE)))
MOST_CHARACTERS = 12_000
# A question, words of the row that answers it (the first opening), and what stands in the file (the second).
QUESTIONS = (
    ("Where does the record get its CSV columns?", "columns of the record", "class Sample"),
    ("Where would I change how long a door may stand open?", "door may stand open", "door"),
    ("Which file decides whether a heat may start?", "whether a heat may start", "def permit("),
    ("Who counts the soak?", "soak clock", "soak_part_s"),
    ("What does the relay make of a duty?", "duty, and what the relay", "def advance_switch"),
    ("Who owns a serial port?", "bytes on the wire", "class"),
    ("How does off reach an oven whose controller is dead?", "how `off` works", "def heat_off"),
    ("What is a screen sent?", "what a screen is sent", "class Snapshot"),
    ("Where do I add a key of the screen?", "keys of the screen", "key"),
    ("What is kept of a heat from tick to tick?", "what a heat knows", "class HeatState"),
    ("Which fields may a recipe have?", "what a recipe may say", "class Recipe"),
    ("Who cuts the heat when the controller hangs?", "controller is killed", "class"),
    ("What may be changed in a running heat?", "operator may ask", "def why_not"),
    ("May a soak go on after the lights were out?", "after a power cut", "def _soak("),
    ("Why does it say 40 min left?", "time that is left", "def segment_left_s"),
    ("Why does the horn sound twice?", "horn and lamp", "PATTERN"),
    ("Who says that a soak is too long?", "a plan warns of", "def _soaks_long"),
    ("When is a normalise called an anneal?", "a cooling is called", "def name_cooling"),
    ("How are inches shown?", "as a person chose", "inch"),
    ("What must be typed before a latch is taken away?", "a latch asks for", "AFTER_REPAIR"),
    ("Who notices that the chain is broken?", "chain of a record", "def "),
    ("How many seconds of a heat are lost in a power cut?", "on the disk when", "every call durable"),
    ("When is an oven no longer called hot?", "no longer hot", "HOT_C = "),
    ("How far may a set-point lead the oven?", "set-point leads", "LEAD_K = "),
    ("How long does a plan leave a person at a step?", "planned to take", "_PERSON_S"),
    ("What does a recorded cooling teach?", "learned, heating and cooling", "def fit_cooling"),
    ("Who holds the heat back until the evening?", "waits for its hour", "wait_s"),
    ("Why is a second program refused the port?", "who else has the port", "exclusive"),
    ("Which number belongs to a run that a person stopped?", "exit codes", "5"),
    ("How much longer than planned may a cooling take?", "planned to take", "_SLOWEST_COOLING"),
    ("When is a person late?", "late a person may be", "LATE_S"),
    ("Who may confirm something from afar?", "at the machine", "OVER_A_NETWORK"),
    ("How short may a relay be on?", "key of the oven file", "min_on_s"),
    # Ten of a newcomer, 2026-11-29; at the first look the page led to five of them.
    ("How much room must the disk have for a heat?", "whether a heat may start", "FREE_BYTES"),
    ("After how long a silence is a controller killed?", "controller is killed", "SILENCE_S = "),
    ("How long is a tick?", "key of the oven file", "tick_s"),
    ("Where does the screen say that its picture is old?", "no picture comes", "old"),
    ("What may a browser do?", "pages in a browser", "off"),
    ("Who refuses an option that would not be used?", "given and not used", "def refuse_unused"),
    ("How are the hours of an element counted?", "what is counted", "element_s"),
    ("Who says when the second oven must be hot?", "goes on in another oven", "def "),
    ("May a telephone be told twice of one trip?", "messages to a telephone", "def "),
    ("Which number is a reading on the wire before it is one?", "bytes on the wire", "Raw"),
    # Two of another newcomer's eighteen, 2026-11-30; at the first look the page led to fifteen of those.
    ("How far from its goal does a soak still count?", "band of a soak", "band_k"),
    ("What is believed of a latch that is torn?", "torn or gone", "TORN"),
)


def files_of(cell: str) -> list[Path]:
    """Return the files in a cell; one without a folder lies beside the one before it."""
    found: list[Path] = []
    for name in re.findall(r"`([\w/]+\.(?:py|md))`", cell):
        places = (TOP / "kilnctl" / name, TOP / name, (found[-1].parent if found else TOP) / name)
        found.append(next((path for path in places if path.is_file()), places[0]))
    return found


def test_the_page_stays_one_page() -> None:
    assert len(PAGE) <= MOST_CHARACTERS


@pytest.mark.parametrize("name", sorted(set(re.findall(r"`([\w.-]+(?:/[\w.-]+)+)`", PAGE))))
def test_every_path_is_there(name: str) -> None:
    places = (TOP / name, TOP / "kilnctl" / name, TOP / "tests" / name, TOP / name.split(maxsplit=1)[0])
    if not name.startswith("/"):
        assert any(place.exists() for place in places), name


def test_every_file_of_a_row_is_there() -> None:
    """Those without a folder of their own too. Seen to fail with a file that was never written."""
    named = [path for _, cell in ROWS for path in files_of(cell)]
    assert [str(path) for path in named if not path.is_file()] == []


@pytest.mark.parametrize(("question", "row", "stands"), QUESTIONS, ids=[q for q, _, _ in QUESTIONS])
def test_a_question_ends_at_the_second_opening(question: str, row: str, stands: str) -> None:
    cells = [cell for words, cell in ROWS if row in words]
    assert len(cells) == 1, question
    assert any(stands in path.read_text(encoding="utf-8") for path in files_of(cells[0])), question


@pytest.mark.parametrize(
    "module", sorted(set(re.findall(r"python -m ((?:tests|explorer|histories)[\w.]*)", PAGE)))
)
def test_every_module_that_is_run_loads(module: str) -> None:
    assert importlib.import_module(module).main


def test_the_picture_shows_every_room_in_the_order_that_is_held() -> None:
    contracts = tomllib.loads((TOP / "pyproject.toml").read_text(encoding="utf-8"))["tool"]["importlinter"][
        "contracts"
    ]
    rooms = [room.strip() for layer in contracts[0]["layers"] for room in layer.split("|")]
    picture = re.findall(r"```\n(.*?)```", PAGE, re.S)[0]
    shown = [
        word for line in picture.splitlines() for word in re.split(r"  +", line)[0].replace("|", " ").split()
    ]
    assert shown == rooms


def test_a_room_s_decisions_are_no_table_of_numbers() -> None:
    """Those stand in `RESULTS.md`, each with the command that makes it. Seen to fail on the interlocks'."""
    pages = sorted((TOP / "kilnctl").glob("*/DECISIONS.md"))
    assert len(pages) > 10
    assert [str(page) for page in pages if re.search(r"^\|", page.read_text(encoding="utf-8"), re.M)] == []
