"""The command that says that the alarms have been seen: acknowledge."""

from kilnctl.cli.terminal.ask_controller import ask, print_answer


def acknowledge(*, oven: str | None = None) -> int:
    """Acknowledge the alarms. It clears no trip: see reset.

    Parameters
    ----------
    oven:
        The name of the oven, where several run.
    """
    return print_answer(ask("acknowledge", oven), "alarms acknowledged")
