"""The command that answers the operator step that waits: answer."""

from typing import Literal

from kilnctl.cli.terminal.ask_controller import ask, print_answer


def answer(reply: Literal["done", "wait", "abort"], /, *, oven: str | None = None) -> int:
    """Answer the operator step that waits.

    Parameters
    ----------
    reply:
        done goes on, wait keeps waiting (the longest wait of the recipe stays), abort ends the run.
    oven:
        The name of the oven, where several run.
    """
    return print_answer(ask("answer", oven, reply=reply), f"answered: {reply}")
