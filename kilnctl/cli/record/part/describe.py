"""The command that says what a part is: part describe."""

from dataclasses import replace
from typing import Any

from kilnctl.cli.record.part.story import story
from kilnctl.clock import RealClock
from kilnctl.config import home
from kilnctl.errors import ConfigError
from kilnctl.units import parse_length_mm


def describe(
    name: str,
    /,
    *,
    steel: str | None = None,
    bar: str | None = None,
    section: str | None = None,
    quantity: int | None = None,
    customer: str | None = None,
    position: str | None = None,
) -> int:
    """Describe a part and where it lies in the load; what you leave out stays as it was.

    Parameters
    ----------
    name:
        The part or batch.
    steel:
        What it is made of.
    bar:
        The bar or heat number.
    section:
        Its thickest section ("6 mm").
    quantity:
        How many are in the batch.
    customer:
        Customer and order.
    position:
        Where it lies in the load ("front left").
    """
    section_mm = None if section is None else parse_length_mm(section)
    said: dict[str, Any] = {"steel": steel, "bar": bar, "section_mm": section_mm, "quantity": quantity}
    said |= {"customer": customer, "position": position}
    said = {key: value for key, value in said.items() if value is not None}
    if not said:
        raise ConfigError('give at least one thing about it, like: --steel O1 or --section "6 mm"')
    _keep(name, said)
    return story(name)


def _keep(name: str, facts: dict[str, Any]) -> None:
    from kilnctl.logbook import entries
    from kilnctl.logbook.readers import Reader
    from kilnctl.logbook.writer import Logbook

    with Logbook(home.logbook_path()) as book:
        before = entries.newest(Reader(book.connection), entries.PartEntry, name)
        row, known = before or (None, entries.PartEntry(name))
        now_utc = RealClock().utc().timestamp()
        entries.add(book, replace(known, **facts), now_utc, corrects=None if row is None else row.number)
