"""The commands that keep what is looked after by days or by count: care remind, care done, care count."""

from typing import Annotated

from cyclopts import Parameter

from kilnctl.cli.oven.care.due import show
from kilnctl.cli.record.open_logbook import COMPLETE, keep
from kilnctl.errors import ConfigError
from kilnctl.units import parse_duration_s


def remind(
    thing: str,
    what: str,
    /,
    *,
    every: str | None = None,
    counter: str | None = None,
    limit: float | None = None,
    note: str = "",
) -> int:
    """Set a reminder by days, by a counter, or by both, whichever is due first.

    Parameters
    ----------
    thing:
        An oven's name, or anything that you look after ("oil tank").
    what:
        What is to be done ("change the oil").
    every:
        How often ("2160 h" for ninety days).
    counter:
        "element hours", "sensor hours above 800 °C", "relay closures", or one that you count yourself.
    limit:
        At which count it is due.
    note:
        A note to keep with it.
    """
    from kilnctl.logbook.entries import Reminder

    if (counter is None) != (limit is None):
        raise ConfigError(
            'a counter and its limit go together, like: --counter "relay closures" --limit 100000'
        )
    if every is None and counter is None:
        raise ConfigError("give --every, or --counter with --limit")
    days = None if every is None else parse_duration_s(every) / 86_400.0
    keep(Reminder(thing, what, days, counter or "", limit, note))
    show(thing)
    return COMPLETE


def done(thing: str, what: str, /, *, note: str = "", who: str = "") -> int:
    """Note that something was serviced or replaced today: its days and its counter start again.

    Parameters
    ----------
    thing:
        An oven's name, or anything that you look after.
    what:
        What was done, in the words of its reminder or counter.
    note:
        A note to keep with it.
    who:
        Who did it.
    """
    from kilnctl.logbook.entries import CareDone

    keep(CareDone(thing, what, note, who))
    show(thing)
    return COMPLETE


def count(
    thing: str, what: str, /, *, by: Annotated[float, Parameter(name="--by")] = 1.0, note: str = ""
) -> int:
    """Count something that no run counts by itself ("quenches").

    Parameters
    ----------
    thing:
        An oven's name, or anything that you look after.
    what:
        What is counted.
    by:
        How many more.
    note:
        A note to keep with it.
    """
    from kilnctl.logbook.entries import Count

    keep(Count(thing, what, by, None, note))
    show(thing)
    return COMPLETE
