"""The command that keeps a hardness test of a part: part test."""

import re
from typing import TYPE_CHECKING, Annotated

from cyclopts import Parameter

from kilnctl.cli.record.open_logbook import keep, opened
from kilnctl.cli.record.part.story import story
from kilnctl.cli.terminal.options import Flag
from kilnctl.cli.terminal.tell import tell
from kilnctl.errors import ConfigError, ProfileError
from kilnctl.units import parse_length_mm

if TYPE_CHECKING:
    from kilnctl.treatment.steel.hardness_scales import Scale

# "-5, 60" begins like an option and is refused by who knows why.
Readings = Annotated[str, Parameter(allow_leading_hyphen=True)]
_FILE = re.compile(r"\s*(\d+(?:\.\d+)?)\s+(skates|cuts|bites)\s*")
_BLOCK = re.compile(r"(.+?)\s+reads\s+(.+)")
_BARE_NUMBER = re.compile(r"\d+(?:\.\d+)?")


def hardness_test(
    name: str,
    /,
    *,
    files: str | None = None,
    readings: Readings | None = None,
    block: str | None = None,
    diameter: str | None = None,
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
        What a tester read, in HRC ("58.1, 58.4, 57.7") or with its scale ("697 HV, 702 HV").
    block:
        What the tester made of its test block, in the scale of the readings ("60.0 reads 60.9", "700 HV reads
        712 HV"), for --readings.
    diameter:
        The readings are from a round of this diameter ("3/8 in"): they come out soft, and are corrected.
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
    if diameter is not None and readings is None:
        raise ConfigError("--diameter corrects the readings of a tester: give --readings too")
    made = []
    if files is not None:
        made.append(by_files(name, [_file(text) for text in files.split(",")], bare_metal, run, who))
    if readings is not None:
        scale, found = _readings(readings)
        round_mm = None if diameter is None else parse_length_mm(diameter)
        known = None if block is None else _block(block, scale)
        made.append(by_tester(name, found, known, bare_metal, run, who, scale, round_mm))
    if run is not None:
        with opened() as reader:
            reader.run(run)  # which says so where there is none
    keep(*made)
    told = story(name)
    tell(_counts(name))
    return told


def _counts(name: str) -> str:
    """Return whether tests of a part move the answers of `figure temper` and of a plan, and why not."""
    from kilnctl.care.own_hardness import own_hardness, runs_of_part
    from kilnctl.treatment.steel.own_results import LEAST_RESULTS
    from kilnctl.treatment.steel.steels import load_steel

    with opened() as reader:
        runs = [r for r in runs_of_part(reader, name) if r.outcome == "complete" and not r.simulated]
        grades = [run.steel for run in runs if run.steel]
        if not grades:
            return f"It changes no prediction yet: the logbook has no real heat of {name} that was completed."
        try:
            found = own_hardness(reader, load_steel(grades[0]))
        except ProfileError:
            return f"It changes no prediction: there is no card of {grades[0]}."
    why = [reason for reason in found.left_out if reason.startswith(f"{name}: ")][-1:]
    left = f" Left out: {why[0]}." if why else ""
    count = f"{len(found.results)} of your results of {grades[0]} count"
    return f"{count}; from {LEAST_RESULTS} on they shift the temper.{left}"


def _file(text: str) -> tuple[float, str]:
    match = _FILE.fullmatch(text)
    if match is None:
        raise ConfigError(f'cannot read "{text.strip()}" as a file test; write it like "55 skates, 60 cuts"')
    return float(match[1]), "skates" if match[2] == "skates" else "cuts"


def _readings(text: str) -> "tuple[Scale, list[float]]":
    """Return the scale of a tester's readings, and what it read. Raises ConfigError for two scales."""
    found = [_reading(part) for part in text.split(",")]
    if len({scale for scale, _ in found}) > 1:
        raise ConfigError(f'"{text}": write all readings in one scale')
    return found[0][0], [value for _, value in found]


def _block(text: str, scale: "Scale") -> tuple[float, float]:
    """Return what a block says, and what was read on it. Raises ConfigError for one of another scale."""
    match = _BLOCK.fullmatch(text.strip())
    example = 'write it like "60.0 reads 60.9" or "700 HV reads 712 HV"'
    if match is None:
        raise ConfigError(f'cannot read "{text}" as a test block; {example}')
    try:
        (of, stated), (read_in, read) = (_on_block(part, scale) for part in match.groups())
    except ProfileError:
        raise ConfigError(f'cannot read "{text}" as a test block; {example}') from None
    if {of, read_in} != {scale}:
        raise ConfigError(
            f"a block corrects readings of the scale that it is marked in, and these are in {scale}: take "
            f"such a block, or set the tester to {of}"
        )
    return stated, read


def _on_block(text: str, scale: "Scale") -> "tuple[Scale, float]":
    """Return scale and value of one number of a block; a bare one is in the scale of the readings."""
    return _reading(f"{text} {scale}" if _BARE_NUMBER.fullmatch(text) else text)


def _reading(text: str) -> "tuple[Scale, float]":
    """Return one reading with its scale. Raises ConfigError for a range."""
    from kilnctl.treatment.steel.hardness_scales import parse_hardness

    found = parse_hardness(text)
    if found.low != found.high:
        raise ConfigError(f'"{text.strip()}" is a range: write what each test read, like "58.1, 58.4, 57.7"')
    if found.scale == "MPa":
        raise ConfigError(f'"{text.strip()}" is a tensile strength: write what a hardness test read')
    return found.scale, found.low
