"""The command that tells a part's whole story: part NAME."""

import json
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING

from kilnctl.cli.record.open_logbook import COMPLETE, opened
from kilnctl.cli.terminal.options import PRINTED, Json, refuse_unused
from kilnctl.cli.terminal.tell import tell as say_lines
from kilnctl.cli.terminal.tell import tell_boxes
from kilnctl.errors import ConfigError
from kilnctl.units import parse_duration_s

if TYPE_CHECKING:
    from kilnctl.report.part_history import Story


def story(name: str, /, *, over_800: str | None = None, out: Path | None = None, json_: Json = False) -> int:
    """Tell a part's whole story: every heat, test, bow and note.

    Parameters
    ----------
    name:
        The part or batch, as it was named in its runs. One that is named like a command: `part -- test`.
    over_800:
        The most time above 800 C that it may have seen unprotected ("30 min").
    out:
        Write the story as a page (html, pdf) in place of printing it.
    json_:
        Print JSON.
    """
    from kilnctl.clock import RealClock
    from kilnctl.report.part_history import lines, story_of

    limit_s = None if over_800 is None else parse_duration_s(over_800)
    with opened() as reader:
        told = story_of(reader, name, limit_s, RealClock().utc_s())
    if json_:
        refuse_unused(PRINTED, out=out)
        print(json.dumps(asdict(told), ensure_ascii=False))
    elif told.lines and out is not None:
        _write(told, out)
    elif told.lines:
        say_lines(*lines(told))
    else:
        raise ConfigError(f'the logbook knows no part "{name}"; `kilnctl runs` shows the names')
    return COMPLETE


def _write(told: "Story", out: Path) -> None:
    from kilnctl.report.layout.page_file import write_page
    from kilnctl.report.part_page import part_page
    from kilnctl.report.workshop import workshop

    tell_boxes(out, write_page(part_page(told, workshop()), out))
    print(f"{out}: {told.part}")
