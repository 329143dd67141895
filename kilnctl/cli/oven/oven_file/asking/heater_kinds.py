"""What kind a heater is, by asking: a key that only one kind has brings the kind, and a kind its keys."""

from typing import Any

from kilnctl.cli.oven.oven_file.more_keys import OF_KINDS, goes_with

HEATER, KIND = ("output", "heater"), "kind"
BRINGS = {
    "holds": "pulse",
    "unit": "set-point",
    "park": "set-point",
    "highest": "set-point",
    "link_loss": "set-point",
}


def brings(key: str, made: dict[str, Any]) -> str:
    """Return the kind that a key brings with it, empty where the kind that was answered has such a key."""
    return "" if made.get(KIND, "switch") in OF_KINDS.get(key, ()) else BRINGS.get(key, "")


def turn_into(made: dict[str, Any], kind: str) -> None:
    """Make the answers for a heater those of another kind: what such a one cannot have is dropped."""
    made[KIND] = kind
    for key in [one for one in made if not goes_with(one, made)]:
        del made[key]
