"""What a person types for a key, as the kind of value that the example has there."""

import json
import re
import tomllib
from typing import Any

from kilnctl.errors import ConfigError

WORDS = {"y": "true", "n": "false", "yes": "true", "no": "false", "true": "true", "false": "false"}


def shown(value: Any) -> str:
    """Return a value as it would be typed."""
    if isinstance(value, list):
        return ", ".join(map(shown, value))
    return value if isinstance(value, str) else json.dumps(value)


def read(typed: str, like: Any) -> Any:
    """Return what was typed as the kind of value that the example has there. Raises ConfigError."""
    if isinstance(like, str) or not typed:
        quoted = len(typed) > 1 and typed[0] == typed[-1] == '"'  # a blank at the end shows in quotes
        return typed[1:-1] if quoted else typed
    if isinstance(like, list) and like and all(isinstance(one, str) for one in like):
        return _words(typed)
    plain = f"[{typed}]" if isinstance(like, list) and not typed.startswith("[") else typed
    try:
        value = tomllib.loads(f"value = {WORDS.get(plain.lower(), plain)}")["value"]
    except ValueError:
        value = None
    if not _alike(value, like):
        raise ConfigError(f"{typed} cannot be read; write it like {shown(like)}")
    return value


def _alike(value: Any, like: Any) -> bool:
    if isinstance(like, bool) or isinstance(value, bool):
        return isinstance(value, bool) and isinstance(like, bool)
    if isinstance(like, int | float):
        return isinstance(value, int | float)
    if isinstance(like, list):
        return isinstance(value, list) and all(_alike(one, like[0]) for one in value if like)
    return isinstance(value, type(like))


def _words(typed: str) -> list[str]:
    """Return words with commas or blanks between them; quotes and brackets may be there or not."""
    return [word for word in re.split(r"[\s,]+", re.sub(r"[\[\]\"]", " ", typed)) if word]
