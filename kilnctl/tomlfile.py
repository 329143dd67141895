"""Files that people edit: TOML into a strict pydantic model, errors with file, line and key."""

import re
import stat
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any, ClassVar, TypeVar

from pydantic import BaseModel, ConfigDict, ValidationError, field_validator
from pydantic_core import ErrorDetails, PydanticCustomError

from kilnctl.errors import KilnctlError, cut_short, one_line

_MARKER = "kilnctl-error-here"
# A file that is wrong from top to bottom: the first mistakes are enough to begin with.
SHOWN = 10
LONGEST_TEXT = 1000
LONGEST_LINE = 240
LONGEST_FILE = 1_000_000  # bytes; a larger one would take minutes to be found wrong
TOO_DEEP = re.compile(r"""^[\s\[]*(?:[\w"'-]+\s*\.\s*){32}""", re.M)  # thousands would take minutes
_AT = re.compile(r"\(at line (\d+), ")
_ODD_QUOTES = "“”„‟‘’‚«»"  # an editor for letters puts them in
Key = tuple[str | int, ...]


class Strict(BaseModel):
    """Base of everything read from a file: no unknown key, no coercion, no NaN, frozen, texts of one line.

    `raw` names the texts that go over a wire and may hold control characters.
    """

    model_config = ConfigDict(extra="forbid", frozen=True, strict=True, allow_inf_nan=False, defer_build=True)
    raw: ClassVar[tuple[str, ...]] = ()

    @field_validator("*")
    @classmethod
    def _one_line(cls, value: Any, info: Any) -> Any:
        if info.field_name not in cls.raw:
            for text in _texts(value):
                if len(text) > LONGEST_TEXT or text != one_line(text):
                    longest = f"at most {LONGEST_TEXT} characters, no control characters"
                    raise wrong("text", f"write one line: {longest}")
        return value


def wrong(code: str, why: str) -> PydanticCustomError:
    """Return a validation error whose message is exactly `why`."""
    return PydanticCustomError(code, "{why}", {"why": why})


def _texts(value: Any) -> Iterator[str]:
    """Yield a text, the texts of a tuple, or those of a table with its keys."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, tuple):
        yield from (one for one in value if isinstance(one, str))
    elif isinstance(value, dict):
        yield from (one for pair in value.items() for one in pair if isinstance(one, str))


M = TypeVar("M", bound=BaseModel)


def load(path: Path, model: type[M], error: type[KilnctlError]) -> M:
    """Read a TOML file into a model.

    Raises `error` with one line a mistake, "file:line: key: what to do"; also for a file that is
    missing, unreadable, empty or not TOML.
    """
    try:
        found = path.stat()
        if stat.S_ISCHR(found.st_mode):
            raise error(f"{path}: is a device, no file")  # one of them never ends
        if (size := found.st_size) > LONGEST_FILE:
            raise error(f"{path}: {size / 1e6:.0f} MB; a file of this kind has 1 MB at most")
        text = path.read_text(encoding="utf-8-sig")  # some editors write a mark before the first line
    except (OSError, UnicodeDecodeError) as e:
        raise error(f"{path}: cannot be read: {_plain(e)}") from None
    return loads(text, model, error, path.name)


def loads(text: str, model: type[M], error: type[KilnctlError], name: str) -> M:
    """Read TOML text into a model; `name` stands for the file in messages. Raises `error`."""
    if TOO_DEEP.search(text):
        raise error(f"{name}: nested too deeply")
    try:
        data = tomllib.loads(text)
    except (ValueError, RecursionError) as e:
        said = f"{name}: not a TOML file: {_what(e)}{_cure(text, str(e))}"
        raise error(cut_short(said, LONGEST_LINE)) from None
    if not data:
        raise error(f"{name}: the file is empty")
    try:
        return model.model_validate(_tuples(data))
    except ValidationError as e:
        raise error(_say(e, text, data, name)) from None
    except RecursionError:
        raise error(f"{name}: nested too deeply") from None


def made(keys: dict[str, Any], model: type[M], error: type[KilnctlError], name: str) -> M:
    """Return a model of values that were reckoned; they must keep the bounds of a file. Raises `error`."""
    try:
        return model.model_validate(keys)
    except ValidationError as e:
        raise error(_say(e, "", keys, name)) from None


def _what(e: Exception) -> str:
    """Say why the library gave up; a number of thousands of digits is a plain ValueError."""
    if isinstance(e, RecursionError):
        return "nested too deeply"
    return str(e) if isinstance(e, tomllib.TOMLDecodeError) else "a number with too many digits"


def _cure(text: str, library_words: str) -> str:
    """Return what to write where the library gave up, empty where it is none of the usual slips."""
    found, lines = _AT.search(library_words), text.split("\n")
    line = lines[int(found[1]) - 1] if found and int(found[1]) <= len(lines) else ""
    value = line.partition("=")[2].partition("#")[0].strip()
    if any(quote in line for quote in _ODD_QUOTES):
        return '; write straight quotes: "'
    if re.fullmatch(r"[+-]?\d+,\d+", value):
        return f"; write a point, no comma: {value.replace(',', '.')}"
    if value.count('"') == 1:
        return '; a quote " is missing'
    if re.match(r"\d*\s*[^\W\d_]", value):
        return f'; write a text in quotes: "{value}"'
    return ""


def _tuples(data: Any) -> Any:
    """Return TOML data with its arrays as tuples, which is what frozen strict models take."""
    if isinstance(data, dict):
        return {key: _tuples(value) for key, value in data.items()}
    return tuple(_tuples(value) for value in data) if isinstance(data, list) else data


def _plain(e: Exception) -> str:
    return e.strerror if isinstance(e, OSError) and e.strerror else "not UTF-8 text; save it as UTF-8"


def _say(e: ValidationError, text: str, data: dict[str, Any], name: str) -> str:
    lines = []
    problems = e.errors(include_url=False, include_input=False)
    for problem in problems[:SHOWN]:
        key = _real_key(problem["loc"], data)
        line = _line_of(text, key)
        where = f"{name}:{line}" if line else name
        what = _in_words(problem)
        said = f"{where}: {_dotted(key)}: {what}" if key else f"{where}: {what}"
        lines.append(cut_short(said, LONGEST_LINE))
    if len(problems) > SHOWN:
        lines.append(f"{name}: and {len(problems) - SHOWN} more mistakes")
    return "\n".join(dict.fromkeys(lines))


def _in_words(problem: ErrorDetails) -> str:
    """Return the library's finding in words for somebody who edits a file."""
    kind, limits = problem["type"], problem.get("ctx", {})
    return _WORDS[kind].format(**limits) if kind in _WORDS else problem["msg"]


_TABLE = "must be a table of keys and values"
_WORDS = {
    "extra_forbidden": "unknown key; check the spelling or remove it",
    "missing": "is missing and has no default",
    "union_tag_not_found": "needs a kind",
    "union_tag_invalid": "must be one of {expected_tags}",
    "literal_error": "must be {expected}",
    "too_short": "needs at least {min_length}, has {actual_length}",
    "too_long": "takes at most {max_length}",
    "string_type": "must be a text in quotes",
    "string_pattern_mismatch": "must begin with a small letter, then small letters, digits and _ only",
    "string_too_short": "must not be empty",
    "string_too_long": "must be at most {max_length} characters long",
    "int_type": "must be a whole number",
    "int_from_float": "must be a whole number",
    "float_type": "must be a number",
    "finite_number": "must be a finite number",
    "bool_type": "must be true or false",
    "tuple_type": "must be a list in brackets",
    "dict_type": _TABLE,
    "model_type": _TABLE,
    "model_attributes_type": _TABLE,
    "greater_than": "must be more than {gt:g}",
    "greater_than_equal": "must be at least {ge:g}",
    "less_than": "must be less than {lt:g}",
    "less_than_equal": "must be at most {le:g}",
}


def _real_key(loc: Key, data: Any) -> Key:
    """Drop the parts of pydantic's location that are union tags, not keys of the file."""
    key: list[str | int] = []
    for i, part in enumerate(loc):
        if isinstance(data, dict) and part not in data and i < len(loc) - 1:
            continue  # a union tag: it names no key of the file
        key.append(_as_written(part, data))
        data = _child(data, part)
    return tuple(key)


# A range in a file: one key for both ends, or one for each.
_ENDS = {"low_c": ("at", "from"), "high_c": ("at", "to")}


def _as_written(part: str | int, data: Any) -> str | int:
    """Return the key of the file behind a field of a range."""
    keys = _ENDS.get(str(part), ()) if isinstance(data, dict) and part not in data else ()
    return next((key for key in keys if key in data), part)


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
