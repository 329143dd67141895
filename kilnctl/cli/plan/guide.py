"""The command that shows the user's guide: guide."""

import sys

from kilnctl.cli.terminal.options import Flag, refuse_unused
from kilnctl.guide.pages import COMMANDS, SECTIONS, page, pages


def guide(topic: str | None = None, /, *, man: Flag = False) -> int:
    """Show the user's guide: the list of topics, or one page.

    Parameters
    ----------
    topic
        A topic of the list. "commands" prints the help of every command, one after the other.
    man
        Print that help as a manual page: kilnctl guide --man > ~/.local/share/man/man1/kilnctl.1
    """
    if man:
        refuse_unused("the manual page has every command", TOPIC=topic)
        from kilnctl.cli.plan.man_page import man_page

        print(man_page(_commands()))
    elif topic is None:
        _print_topics()
    elif topic == COMMANDS:
        _print(_commands())
    else:
        _print(page(topic).text())
    return 0


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
    print("Read one with: kilnctl guide TOPIC")


def _commands() -> str:
    from kilnctl.cli.main import app

    return str(app().generate_docs(output_format="markdown", recursive=True))


def _print(text: str) -> None:
    """Print Markdown: set for reading at a terminal, as it is into a pipe."""
    if not sys.stdout.isatty():
        print(text)
        return
    from rich.console import Console
    from rich.markdown import Markdown

    with Console() as console, console.pager(styles=True):
        console.print(Markdown(text))
