"""The pages of the guide: which there are, in which order, and the text of one of them."""

import difflib
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
    for found in pages():
        if found.topic == topic:
            return found
    raise nothing_on(topic)


def topics() -> list[str]:
    """Return what the pages are asked for by."""
    return [found.topic for found in pages()]


def nothing_on(words: str) -> ConfigError:
    """Return the error of what the guide does not speak of, naming the nearest topic."""
    near = difflib.get_close_matches(words, (*topics(), COMMANDS), 1)
    hint = f'did you mean "{near[0]}"?' if near else "`kilnctl guide` lists the topics"
    return ConfigError(f'the guide says nothing of "{words}"; {hint}')


def _page(path: Path, section: str) -> Page:
    with path.open(encoding="utf-8") as file:
        title = file.readline().removeprefix("#").strip()
    return Page(path.stem, section, title, path)
