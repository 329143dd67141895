"""The command about one part: its story, and what is measured on it after the heat."""

import json
import re
from dataclasses import asdict, replace
from typing import TYPE_CHECKING, Any

from kilnctl.cli.book import Flag, Json
from kilnctl.clock import RealClock
from kilnctl.config import home
from kilnctl.errors import ConfigError
from kilnctl.units import parse_duration_s, parse_length_mm

if TYPE_CHECKING:
    from kilnctl.logbook.book import Logbook
    from kilnctl.logbook.entries import Part, Typed

_FILE = re.compile(r"\s*(\d+(?:\.\d+)?)\s+(skates|cuts)\s*")
_BLOCK = re.compile(r"\s*(\d+(?:\.\d+)?)\s+reads\s+(\d+(?:\.\d+)?)\s*")


def part(
    name: str,
    /,
    *,
    steel: str | None = None,
    bar: str | None = None,
    section: str | None = None,
    quantity: int | None = None,
    customer: str | None = None,
    position: str | None = None,
    files: str | None = None,
    readings: str | None = None,
    block: str | None = None,
    bare_metal: Flag = False,
    bow: str | None = None,
    side: str | None = None,
    length: str | None = None,
    quench: str = "",
    clamp: str | None = None,
    note: str | None = None,
    run: int | None = None,
    who: str = "",
    over_800: str | None = None,
    json_: Json = False,
) -> int:
    """Tell a part's whole story; with further words, write something about it into the logbook first.

    Parameters
    ----------
    name:
        The part or batch, as it was named in its runs.
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
    files:
        What hardness files did ("55 skates, 60 cuts").
    readings:
        What a hardness tester read, in HRC ("58.1, 58.4, 57.7").
    block:
        The tester's test block ("60.0 reads 60.9").
    bare_metal:
        The tested spot was ground clean of scale and soft skin.
    bow:
        How far it is bent ("1.2 mm").
    side:
        Towards which side it is bent ("left").
    length:
        Over which length ("120 mm").
    quench:
        How it went into the quench ("edge first").
    clamp:
        How long it was clamped ("20 s").
    note:
        A word for its story.
    run:
        The run that the test or bow belongs to.
    who:
        Who measured.
    over_800:
        The most time above 800 C that it may have seen unprotected ("30 min").
    json_:
        Print JSON.
    """
    made: list[Typed] = []
    made += _described(name, steel, bar, section, quantity, customer, position)
    made += _tested(name, files, readings, block, bare_metal, run, who)
    made += _bent(name, bow, side, length, quench, clamp, run)
    if note is not None:
        from kilnctl.logbook.entries import Note

        made.append(Note(name, note, run, who))
    _write(made)
    return _tell(name, over_800, json_)


def _described(
    name: str,
    steel: str | None,
    bar: str | None,
    section: str | None,
    quantity: int | None,
    customer: str | None,
    position: str | None,
) -> "list[Typed]":
    given: dict[str, Any] = {"steel": steel, "bar": bar, "quantity": quantity, "customer": customer}
    given["position"] = position
    given["section_mm"] = None if section is None else parse_length_mm(section)
    given = {key: value for key, value in given.items() if value is not None}
    if not given:
        return []
    from kilnctl.logbook.entries import Part

    return [Part(name, **given)]


def _tested(
    name: str,
    files: str | None,
    readings: str | None,
    block: str | None,
    bare: bool,
    run: int | None,
    who: str,
) -> "list[Typed]":
    from kilnctl.logbook.hardness import by_files, by_tester

    made: list[Typed] = []
    if files is not None:
        made.append(by_files(name, [_file(text) for text in files.split(",")], bare, run, who))
    if readings is not None:
        known = None if block is None else _block(block)
        made.append(by_tester(name, [_hrc(text) for text in readings.split(",")], known, bare, run, who))
    return made


def _file(text: str) -> tuple[float, str]:
    match = _FILE.fullmatch(text)
    if match is None:
        raise ConfigError(f'cannot read "{text.strip()}" as a file test; write it like "55 skates, 60 cuts"')
    return float(match[1]), match[2]


def _block(text: str) -> tuple[float, float]:
    match = _BLOCK.fullmatch(text)
    if match is None:
        raise ConfigError(f'cannot read "{text}" as a test block; write it like "60.0 reads 60.9"')
    return float(match[1]), float(match[2])


def _hrc(text: str) -> float:
    try:
        value = float(text)
    except ValueError:
        value = -1.0
    if not 0.0 < value < 71.0:
        raise ConfigError(f'"{text.strip()}" is no HRC reading; write them like "58.1, 58.4, 57.7"')
    return value


def _bent(
    name: str,
    bow: str | None,
    side: str | None,
    length: str | None,
    quench: str,
    clamp: str | None,
    run: int | None,
) -> "list[Typed]":
    if bow is None:
        return []
    if side is None:
        raise ConfigError('say towards which side it is bent, like: --bow "1.2 mm" --side left')
    from kilnctl.logbook.entries import Warp

    length_mm = None if length is None else parse_length_mm(length)
    clamp_s = None if clamp is None else parse_duration_s(clamp)
    return [Warp(name, parse_length_mm(bow), side, length_mm, quench, clamp_s, run)]


def _write(made: "list[Typed]") -> None:
    if not made:
        return
    from kilnctl.logbook import entries
    from kilnctl.logbook.book import Logbook

    now_utc = RealClock().utc().timestamp()
    with Logbook(home.logbook_path()) as book:
        for entry in made:
            if isinstance(entry, entries.Part):
                _describe_anew(book, entry, now_utc)
            else:
                entries.add(book, entry, now_utc)


def _describe_anew(book: "Logbook", entry: "Part", now_utc: float) -> None:
    """Write a description that keeps what an older one said and this one leaves out."""
    from kilnctl.logbook import entries
    from kilnctl.logbook.readers import Reader

    before = entries.newest(Reader(book.connection), entries.Part, entry.part)
    if before is None:
        entries.add(book, entry, now_utc)
        return
    given = {k: v for k, v in asdict(entry).items() if v != getattr(entries.Part(""), k)}
    entries.add(book, replace(before[1], **given), now_utc, corrects=before[0].number)


def _tell(name: str, over_800: str | None, as_json: bool) -> int:
    from kilnctl.cli.book import opened
    from kilnctl.report.story import lines, tell

    limit_s = None if over_800 is None else parse_duration_s(over_800)
    with opened() as reader:
        story = tell(reader, name, limit_s)
    if as_json:
        print(json.dumps(asdict(story), ensure_ascii=False))
    elif story.lines:
        print("\n".join(lines(story)))
    else:
        raise ConfigError(f'the logbook knows no part "{name}"; `kilnctl runs` shows the names')
    return 0
