"""The command that writes an oven file by asking: oven new."""

import re
from collections.abc import Container
from pathlib import Path
from typing import Any

from kilnctl.cli.oven.oven_file.asking.asking import Asker
from kilnctl.cli.oven.oven_file.check import report, will_not_heat_until
from kilnctl.cli.oven.oven_file.file_text import written
from kilnctl.cli.oven.oven_file.templates import WAYS, Way, meaning
from kilnctl.cli.terminal.by_asking import Ask, Say, save_answers, stoppable, with_a_way_back
from kilnctl.config import home
from kilnctl.config.oven import Oven
from kilnctl.errors import ConfigError
from kilnctl.tomlfile import loads

HEAD = """# Written from your answers. Compare every number with the device's own table before you go on.
# This program switches heaters. Mains wiring by a licensed electrician, by your local electrical and fire
# codes; an independent over-temperature limit with its own sensor and contactor.

"""


def new(*, out: Path | None = None) -> int:
    """Write an oven file by answering questions: what is on the bench, what its table says.

    Enter accepts what is in brackets, - leaves a key out, < goes back one question, q stops. Numbers that
    safety depends on have no default. No port is opened.

    Parameters
    ----------
    out
        The file to write; left out, the oven's name in the ovens folder of your kilnctl folder.
    """
    try:
        taken = () if out else home.known("ovens")
        way, data = with_a_way_back(stoppable(input), print, lambda ask, say: _asked(ask, say, taken))
    except EOFError:
        raise ConfigError("stopped; nothing was written") from None
    text = HEAD + written(data, lambda key: meaning(key, way.topic))
    path = out or _own_path(str(data["name"]))
    save_answers(text, path)
    typed = str(out) if out else path.stem
    print(f"\n{path} written. Something mistyped? `kilnctl oven change {typed} KEY` asks for that one again.")
    oven = loads(text, Oven, ConfigError, str(path))
    for line in report(oven, typed):
        print(line)
    return 0


def ask_way(ask: Ask, say: Say) -> Way:
    """Ask what is on the bench."""
    say("\n".join([*will_not_heat_until(), "Without them it can be watched and recorded."]))
    say("What is on the bench?")
    for number, way in enumerate(WAYS, 1):
        say(f"  {number}  {way.words}")
    say(
        "None of them? `kilnctl guide oven-file` says what can be used, and what cannot.\n"
        "A timer relay behind the board is asked for in each of them, as the dead_man.\n"
        "Devices of two kinds? Take what heats; the other is asked for as one more device.\n"
        "Here and later: Enter accepts what is in brackets, - leaves a key out, < goes back one question, "
        "q stops.\nNothing is written before the end."
    )
    while True:
        typed = ask("kind: ").strip()
        if typed.isdecimal() and 1 <= int(typed) <= len(WAYS):
            return WAYS[int(typed) - 1]
        say(f"type a number from 1 to {len(WAYS)}")


def _asked(ask: Ask, say: Say, taken: Container[str]) -> tuple[Way, dict[str, Any]]:
    way = ask_way(ask, say)
    return way, Asker(way, ask, say, taken).file()


def _own_path(name: str) -> Path:
    word = re.sub(r"[^\w-]+", "-", name).strip("-")
    return home.home() / "ovens" / f"{word or 'oven'}.toml"
