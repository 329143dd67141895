"""How a device's other registers are written: where it lacks function 6, or has decimal numbers only."""

from typing import Any

from kilnctl.cli.oven.oven_file.file_text import Path

KEYS, WRITTEN = ("format", "multiple"), ("output", "dead_man", "arm")


class EarlierWrites:
    """What was answered for registers that are written, device by device, where it is not the usual."""

    def __init__(self) -> None:
        self._used: dict[str, dict[str, Any]] = {}

    def note(self, path: Path, made: dict[str, Any]) -> None:
        """Note a table that is whole."""
        if path[0] in WRITTEN and "back" not in path:
            told = (*KEYS, "word_order", "byte_order")
            odd = {key: one for key, one in made.items() if key in told and one is not False}
            self._used.setdefault(str(made.get("device", "")), {}).update(odd)

    def offered(self, path: Path, made: dict[str, Any]) -> dict[str, Any]:
        """Return the keys that are to be asked of one more register, with an answer to begin from."""
        if path[0] not in WRITTEN or "back" in path or made.get("table") not in ("holding", "coil"):
            return {}
        keys = KEYS if made["table"] == "holding" else ("multiple",)
        usual = (
            "int16" if path[0] == "output" else "uint16"
        )  # a register beside decimal ones may be a whole one
        used = {key: one for key, one in self._of(made).items() if key in keys and key not in made}
        return {key: usual if key == "format" else one for key, one in used.items()}

    def orders(self, made: dict[str, Any]) -> dict[str, Any]:
        """Return the order of words and bytes that goes with a format that was used before."""
        used = self._of(made)
        same = made.get("format") is not None and made["format"] == used.get("format")
        return {key: one for key, one in used.items() if same and key.endswith("_order")}

    def _of(self, made: dict[str, Any]) -> dict[str, Any]:
        return self._used.get(str(made.get("device", "")), {})
