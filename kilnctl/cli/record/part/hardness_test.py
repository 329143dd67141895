"""The command that keeps a hardness test of a part: part test."""

import re

from kilnctl.cli.record.open_logbook import keep
from kilnctl.cli.record.part.story import story
from kilnctl.cli.terminal.options import Flag
from kilnctl.errors import ConfigError

_FILE = re.compile(r"\s*(\d+(?:\.\d+)?)\s+(skates|cuts)\s*")
_BLOCK = re.compile(r"\s*(\d+(?:\.\d+)?)\s+reads\s+(\d+(?:\.\d+)?)\s*")


def hardness_test(
    name: str,
    /,
    *,
    files: str | None = None,
    readings: str | None = None,
    block: str | None = None,
    bare_metal: Flag = False,
    run: int | None = None,
    who: str = "",
) -> int:
    """Record what hardness files did, or what a hardness tester read.

    Parameters
    ----------
    name:
        The part or batch.
    files:
        What hardness files did ("55 skates, 60 cuts").
    readings:
        What a tester read, in HRC ("58.1, 58.4, 57.7").
    block:
        What the tester made of its test block ("60.0 reads 60.9"), for --readings.
    bare_metal:
        The tested spot was ground clean of scale and soft skin.
    run:
        The run that the test belongs to.
    who:
        Who measured.
    """
    from kilnctl.care.hardness_tests import by_files, by_tester

    if files is None and readings is None:
        raise ConfigError(
            'say what was found: --files "55 skates, 60 cuts", or --readings "58.1, 58.4, 57.7"'
        )
    if block is not None and readings is None:
        raise ConfigError("--block corrects the readings of a tester: give --readings too")
    made = []
    if files is not None:
        made.append(by_files(name, [_file(text) for text in files.split(",")], bare_metal, run, who))
    if readings is not None:
        known = None if block is None else _block(block)
        made.append(
            by_tester(name, [_hrc(text) for text in readings.split(",")], known, bare_metal, run, who)
        )
    keep(*made)
    return story(name)


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
        raise ConfigError(f'"{text.strip()}" is not an HRC reading; write them like "58.1, 58.4, 57.7"')
    return value
