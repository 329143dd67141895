"""The pages of the guide: which there are, in which order, and the text of one of them."""

import difflib
import re
from dataclasses import dataclass
from pathlib import Path

from kilnctl.errors import ConfigError

# In the order in which they are listed; a folder that stands here holds nothing but pages.
SECTIONS = {
    "tutorial": "Start here",
    "howto": "How to ...",
    "connect": "Connect an oven",
    "reference": "Look it up",
    "explain": "Why it works the way it does",
}
MOST_NAMED = 4
COMMANDS = "commands"  # the one page that is made, of the help of every command
HERE = Path(__file__).parent


@dataclass(frozen=True, slots=True)
class Page:
    """One page: the topic it is asked for by, its section of the guide, its title and its file."""

    topic: str
    section: str
    title: str
    path: Path

    def text(self) -> str:
        """Return the page as Markdown."""
        return self.path.read_text(encoding="utf-8")


def pages() -> list[Page]:
    """Return every page, section by section, each in alphabetical order."""
    return [_page(path, section) for section in SECTIONS for path in sorted((HERE / section).glob("*.md"))]


def page(topic: str) -> Page:
    """Return the page of a topic. Raises ConfigError, naming the nearest topic."""
    by_topic = {found.topic: found for found in pages()}
    if topic in by_topic:
        return by_topic[topic]
    near = difflib.get_close_matches(topic, (*by_topic, COMMANDS), 1)
    hint = f'did you mean "{near[0]}"?' if near else "`kilnctl guide` lists the topics"
    raise ConfigError(f'the guide has no topic "{topic}"; {_where_it_stands(topic, by_topic) or hint}')


def _where_it_stands(word: str, by_topic: dict[str, Page]) -> str:
    """Return the pages that speak most of a word, nothing where none does."""
    begins = re.compile(rf"\b{re.escape(word.removesuffix('ing'))}", re.IGNORECASE)
    counted = {topic: len(begins.findall(found.text())) for topic, found in by_topic.items()}
    best = sorted((topic for topic, n in counted.items() if n), key=lambda topic: -counted[topic])[
        :MOST_NAMED
    ]
    return "the word stands in: " + ", ".join(best) if best else ""


def _page(path: Path, section: str) -> Page:
    with path.open(encoding="utf-8") as file:
        title = file.readline().removeprefix("#").strip()
    return Page(path.stem, section, title, path)
