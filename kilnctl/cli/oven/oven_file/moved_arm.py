"""An arm that turns out to be an instrument's mode: it becomes the dead-man in one step, not in four."""

import tomllib
from collections.abc import Callable
from typing import Any

from kilnctl.cli.oven.oven_file.file_text import written
from kilnctl.cli.terminal.by_asking import Ask, Say
from kilnctl.config.changed_file import with_table, without_table

PLACE = ("device", "table", "register", "field")
MOVES = (
    "output.heater.back reads what arm.{} writes. Where that is a mode which goes back to 0, stand-by, by "
    "itself when the line is silent, it is the dead_man and no arm. Is it, and shall it be moved? [y/n] "
)
HELD = "dead_man.drops_after, how long it runs on without a word, like 5 s: "


def moved(text: str, wrong: Callable[[str], list[str]], ask: Ask, say: Say) -> str:
    """Return the text with such an arm as the dead-man, where a person says so; else as it is.

    `wrong` tells what would be wrong with a text.
    """
    data = tomllib.loads(text)
    heater = data.get("output", {}).get("heater", {})
    number = _arm_at(heater.get("back"), data)
    if number is None or "dead_man" in data or heater.get("kind") != "set-point":
        return text
    if ask(MOVES.format(number + 1)).strip().lower() != "y":
        return text
    arm = {key: one for key, one in data["arm"][number].items() if key != "stored"}
    without = without_table(text, ("arm", number))
    held = heater.get("holds") or ask(HELD).strip()
    while True:
        table = {**arm, "drops_after": held, "zero_drops": True}
        made = with_table(without, ("dead_man",), written({"dead_man": table}), table)
        if not (mistakes := wrong(made)):
            return made
        say("\n".join(mistakes))
        held = ask(HELD).strip()


def _arm_at(back: Any, data: dict[str, Any]) -> int | None:
    """Return which arm writes the place that is read as `back`, None for none."""
    only = next(iter(data.get("device", {})), "")
    if not isinstance(back, dict):
        return None
    at = [back.get("device", only), *(back.get(key) for key in PLACE[1:])]
    arms = enumerate(data.get("arm", ()))
    return next((n for n, arm in arms if [arm.get("device", only), *map(arm.get, PLACE[1:])] == at), None)
