"""Files that people edit: TOML into a strict pydantic model, errors with file, line and key."""

import tomllib
from pathlib import Path
from typing import Any, TypeVar

from pydantic import BaseModel, ConfigDict, ValidationError

from kilnctl.errors import KilnctlError

_MARKER = "kilnctl-error-here"
Key = tuple[str | int, ...]


class Strict(BaseModel):
    """Base of everything read from a file: no unknown key, no coercion, no NaN, frozen."""

    model_config = ConfigDict(extra="forbid", frozen=True, strict=True, allow_inf_nan=False)


M = TypeVar("M", bound=BaseModel)


def load(path: Path, model: type[M], error: type[KilnctlError]) -> M:
    """Read a TOML file into a model.

    Raises `error` with one line a mistake, "file:line: key: what to do"; also for a file that is
    missing, unreadable, empty or not TOML.
    """
    try:
        text = path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as e:
        raise error(f"{path}: cannot be read: {_plain(e)}") from None
    return loads(text, model, error, path.name)


def loads(text: str, model: type[M], error: type[KilnctlError], name: str) -> M:
    """Read TOML text into a model; `name` stands for the file in messages. Raises `error`."""
    try:
        data = tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError) as e:
        raise error(f"{name}: not a TOML file: {e}") from None
    if not data:
        raise error(f"{name}: the file is empty")
    try:
        return model.model_validate(_tuples(data))
    except ValidationError as e:
        raise error(_say(e, text, data, name)) from None


def _tuples(data: Any) -> Any:
    """Return TOML data with its arrays as tuples, which is what frozen strict models take."""
    if isinstance(data, dict):
        return {key: _tuples(value) for key, value in data.items()}
    return tuple(_tuples(value) for value in data) if isinstance(data, list) else data


def _plain(e: Exception) -> str:
    return e.strerror if isinstance(e, OSError) and e.strerror else "not UTF-8 text"


def _say(e: ValidationError, text: str, data: dict[str, Any], name: str) -> str:
    lines = []
    for problem in e.errors(include_url=False, include_context=False, include_input=False):
        key = _real_key(problem["loc"], data)
        line = _line_of(text, key)
        where = f"{name}:{line}" if line else name
        what = _WORDS.get(problem["type"], problem["msg"])
        lines.append(f"{where}: {_dotted(key)}: {what}" if key else f"{where}: {what}")
    return "\n".join(dict.fromkeys(lines))


_WORDS = {
    "extra_forbidden": "unknown key; check the spelling or remove it",
    "missing": "is missing and has no default",
    "union_tag_not_found": "needs a kind",
    "too_short": "needs at least one entry",
}


def _real_key(loc: Key, data: Any) -> Key:
    """Drop the parts of pydantic's location that are union tags, not keys of the file."""
    key: list[str | int] = []
    for i, part in enumerate(loc):
        if isinstance(data, dict) and part not in data and i < len(loc) - 1:
            continue  # a union tag: it names no key of the file
        key.append(part)
        data = _child(data, part)
    return tuple(key)


def _child(data: Any, part: str | int) -> Any:
    try:
        return data[part]
    except (KeyError, IndexError, TypeError):
        return None


def _dotted(key: Key) -> str:
    out = ""
    for part in key:
        out += f"[{part + 1}]" if isinstance(part, int) else f".{part}" if out else str(part)
    return out


def _line_of(text: str, key: Key) -> int | None:
    """Return the line of a key by marking it in a second parse; the nearest parent's where it is absent."""
    import tomlkit  # only a mistake needs it, and off must start fast

    for end in range(len(key), 0, -1):
        try:
            document: Any = tomlkit.parse(text)
            item = document
            for part in key[:end]:
                item = item.item(part) if hasattr(item, "item") and isinstance(part, str) else item[part]
            item.trivia.comment_ws, item.trivia.comment = "  ", f"# {_MARKER}"
            marked = tomlkit.dumps(document)
        # Whatever a second parse stumbles over costs the line number only; the message itself stands.
        except Exception:
            continue
        for number, line in enumerate(marked.splitlines(), 1):
            if _MARKER in line:
                return number
    return None
