"""From when a changed correction of a sensor counts: said by whatever changes one."""

from kilnctl.cli.record.open_logbook import opened
from kilnctl.cli.terminal.tell import tell
from kilnctl.clock import RealClock


def tell_from_when(oven: str) -> None:
    """Say that a correction counts from the next heat on, and which heat goes on with what it began with."""
    from kilnctl.care.going_on import runs_going_on

    with opened() as reader:
        now = runs_going_on(reader, RealClock().utc().timestamp())
        running = sorted(run for run in now if reader.run(run).oven == oven)
    tell("it counts from the next heat on")
    for run in running:
        tell(f"! run {run} goes on with the correction that it began with")
