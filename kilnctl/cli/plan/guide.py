"""The command that shows the user's guide: guide."""

import os
import sys
from collections.abc import Sequence
from contextlib import nullcontext
from typing import TYPE_CHECKING

from kilnctl.cli.terminal.options import Flag, refuse_unused
from kilnctl.guide.pages import COMMANDS, SECTIONS, nothing_on, page, pages, topics

if TYPE_CHECKING:
    from rich.console import Console

FAR = "**Nothing in the guide is close to this.** What is nearest may be beside the point:"


def guide(*words: str, man: Flag = False) -> int:
    """Show the user's guide: the list of topics, one page, or what answers a question.

    kilnctl guide why did my blade warp

    Parameters
    ----------
    words
        A topic of the list, or a question in your own words. "commands" prints the help of every command, one
        after the other.
    man
        Print that help as a manual page: kilnctl guide --man > ~/.local/share/man/man1/kilnctl.1
    """
    if man:
        refuse_unused("the manual page has every command", WORDS=" ".join(words) or None)
        from kilnctl.cli.plan.man_page import man_page

        print(man_page(_commands()))
    elif not words:
        _print_topics()
    elif words == (COMMANDS,):
        _print(_commands())
    elif words[1:] or words[0] not in topics():
        _print(_answers(words))
    else:
        _print(page(words[0]).text())
    return 0


def _answers(words: Sequence[str]) -> str:
    """Return the passages that answer a question. Raises ConfigError where the guide does not speak of it."""
    from kilnctl.cli.plan.steel.card_answer import cards_say
    from kilnctl.guide.search import nothing_close, search, stands_before_cards

    found = search(words)
    passages = [f"## {p.heading}\n\n{p.told()}\n\nMore: `kilnctl guide {p.topic}`" for p in found]
    if found and nothing_close(found):
        passages.insert(0, FAR)
    cards = cards_say(words)
    if not (passages or cards):
        raise nothing_on(" ".join(words))
    leads = stands_before_cards(" ".join(words))
    return "\n\n".join(passages + cards if leads else cards + passages)


def _print_topics() -> None:
    found = pages()
    width = max(len(p.topic) for p in found)
    for section, heading in SECTIONS.items():
        print(heading)
        for p in found:
            if p.section == section:
                print(f"  {p.topic:<{width}}  {p.title}")
        if section == "reference":
            print(f"  {COMMANDS:<{width}}  Every command and option")
        print()
    print("Read one with: kilnctl guide TOPIC. Or ask: kilnctl guide why did my blade warp")


def _commands() -> str:
    from kilnctl.cli.main import app

    return str(app().generate_docs(output_format="markdown", recursive=True))


def _print(text: str) -> None:
    """Print Markdown: set for reading at a terminal, page by page where it is long; as it is into a pipe."""
    if not sys.stdout.isatty():
        print(text)
        return
    from rich.console import Console

    with Console() as console:
        show_in(console, text)


def show_in(console: "Console", text: str) -> None:
    """Draw Markdown on a terminal, through the user's pager where it is longer than the terminal is high."""
    from rich.markdown import Markdown

    drawn = Markdown(text)
    long = len(console.render_lines(drawn, pad=False)) >= console.height
    if long:
        os.environ.setdefault("LESS", "-R")  # without it less prints the codes of bold and colour
    with console.pager(styles=True) if long else nullcontext():
        console.print(drawn)
