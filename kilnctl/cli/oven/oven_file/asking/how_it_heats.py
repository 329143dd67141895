"""What a person may know of how an oven heats, beside what its walls are of."""

from collections.abc import Callable
from typing import Any

from kilnctl.cli.oven.oven_file.asking.questions import TIMED
from kilnctl.cli.terminal.by_asking import Say


def how_it_heats(key: Callable[..., Any], say: Say, example: dict[str, Any]) -> dict[str, Any]:
    """Ask where the elements sit and how soon it is hot; each may be unknown. `key` asks for one key."""
    sits = key(("elements",), "open", may_miss=True)
    example["measured"] = {"heats_to": "200 C", "takes": "10 min"}
    say(f"# {TIMED}")
    to = key(("measured", "heats_to"), "200 C", may_miss=True)
    takes = None if to is None else key(("measured", "takes"), "10 min")
    del example["measured"]
    timed = {} if takes is None else {"measured": {"heats_to": to, "takes": takes}}
    return ({} if sits is None else {"elements": sits}) | timed
