"""The command that writes an oven file by asking: oven new."""

import re
from pathlib import Path

from kilnctl.cli.oven.oven_file.asking import Asker, ask_way
from kilnctl.cli.oven.oven_file.check import report
from kilnctl.cli.oven.oven_file.file_text import written
from kilnctl.cli.terminal.by_asking import save_answers, stoppable
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

    Enter takes what stands in brackets, - leaves a key out, q stops. Numbers that safety depends on have
    no default. Nothing on the wire is opened.

    Parameters
    ----------
    out
        The file to write; left out, the oven's name in the ovens folder of your kilnctl folder.
    """
    try:
        ask = stoppable(input)
        taken = () if out else home.known("ovens")
        data = Asker(ask_way(ask, print), ask, print, taken).file()
    except EOFError:
        raise ConfigError("stopped; nothing was written") from None
    text = HEAD + written(data, commented=True)
    path = out or _own_path(str(data["name"]))
    save_answers(text, path)
    print(f"\n{path} written.")
    oven = loads(text, Oven, ConfigError, str(path))
    for line in report(oven, str(out) if out else path.stem):
        print(line)
    return 0


def _own_path(name: str) -> Path:
    word = re.sub(r"[^\w-]+", "-", name).strip("-")
    return home.home() / "ovens" / f"{word or 'oven'}.toml"
