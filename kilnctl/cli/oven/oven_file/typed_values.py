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


HEXADECIMAL = re.compile(r"(?<![\w.])(?:(\d[\dA-Fa-f]*)[hH]|(\d[\dA-F]*[A-F][\dA-F]*))(?![\w.])")
WRITTEN = ("on", "off", "reads_on", "reads_off", "write", "then", "counts_to")
FUNCTIONS = {False: "5 and 6", True: "15 and 16"}  # what `multiple` is, in a list's own words
WHOLE_WORDS = ("open_words", "busy_words")
CONTROLS = {"STX": "\x02", "ETX": "\x03", "EOT": "\x04", "CR": "\r", "ESC": "\x1b"}
SHARE = re.compile(r"(?:1 ?)?[/÷] ?(\d+)")
# Four letters for four bytes, or words, as lists print the order of a number over two registers (common
# practice, no single source).
ORDERS = {
    "ABCD": {"word_order": "high first"}, "CDAB": {"word_order": "low first"},
    "BADC": {"word_order": "high first", "byte_order": "little"},
    "DCBA": {"word_order": "low first", "byte_order": "little"},
    "BYTES SWAPPED": {"word_order": "high first", "byte_order": "little"},
    "WORDS SWAPPED": {"word_order": "low first"},
    "BIG-ENDIAN": {"word_order": "high first"},
    "LITTLE-ENDIAN": {"word_order": "low first", "byte_order": "little"},
}  # fmt: skip

# How lists name a decimal number (IEEE 754) of so many bits.
FORMATS = {"float": "float32", "real": "float32", "single": "float32", "double": "float64"}

# "low word at the lower address", "most significant word first"
FIRST_WORD = re.compile(r"(low|least|high|most)\b.*\b(?:first|lower address)", re.IGNORECASE)


def ordered(typed: str) -> dict[str, str] | None:
    """Return the keys of an order of words and bytes that is typed in a list's own words; None for others."""
    if found := ORDERS.get(typed.upper()):
        return found
    first = FIRST_WORD.match(typed.strip())
    low = first is not None and first[1].lower() in ("low", "least")
    return {"word_order": "low first" if low else "high first"} if first else None


def understood_as(key: str, answer: Any) -> list[str]:
    """Return what is said of a list with a word of several parts in it: it may have been meant as two."""
    if key not in WHOLE_WORDS or not any(" " in str(word) for word in answer or ()):
        return []
    return ["# understood: " + ", then ".join(f'"{word}"' for word in answer) + "; a comma parts two words"]


def functions(typed: str) -> bool | None:
    """Return whether a board wants functions 15 and 16, by those that its list has; None for other words."""
    numbers = {int(one) for one in re.findall(r"\d+", typed)}
    if typed.strip().lower() == "both" or numbers & {5, 6}:
        return False
    return True if numbers and numbers <= {15, 16} else None


def with_controls(text: str) -> str:
    """Return a text with the control characters that nobody can type: <STX> and so on."""
    return re.sub(r"<(STX|ETX|EOT|CR|ESC)>", lambda m: CONTROLS[m[1]], text)


def read(typed: str, like: Any, key: str = "") -> Any:
    """Return what was typed as the kind of value that the example has there. Raises ConfigError."""
    if key == "format":
        typed = FORMATS.get(typed.lower(), typed)
    if key == "multiple" and (wants := functions(typed)) is not None:
        return wants
    words = isinstance(like, str) or (isinstance(like, list) and like and isinstance(like[0], str))
    if not words and not isinstance(like, float):
        typed = HEXADECIMAL.sub(lambda m: f"0x{m[1] or m[2]}", typed)
    if isinstance(like, float) and (share := SHARE.fullmatch(typed)):
        return 1.0 / int(share[1])
    if isinstance(like, str) or not typed:
        quoted = len(typed) > 1 and typed[0] == typed[-1] == '"'  # a blank at the end shows in quotes
        return with_controls(typed[1:-1] if quoted else typed)
    if isinstance(like, list) and like and all(isinstance(one, str) for one in like):
        return _words(typed, whole=key in WHOLE_WORDS)
    plain = f"[{typed}]" if isinstance(like, list) and not typed.startswith("[") else typed
    try:
        value = tomllib.loads(f"value = {WORDS.get(plain.lower(), plain)}")["value"]
    except ValueError:
        value = None
    if key == "open_values" and isinstance(value, list) and "nan" in map(str, value):
        raise ConfigError(f"{typed} is no reading anyway, and needs no open_values")
    if isinstance(value, float) and value.is_integer() and isinstance(like, int) and key in WRITTEN:
        value = int(value)  # 1.0 of a decimal register is shown as 1
    if isinstance(like, bool) and not isinstance(value, bool):
        raise ConfigError(f"{typed} is no answer here: type y (true) or n (false)")
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


def _words(typed: str, whole: bool) -> list[str]:
    """Return words with commas between them, or blanks; quotes and brackets may be there.

    `whole`: without a comma it is one, such as "ERR 3".
    """
    plain = re.sub(r"[\[\]\"]", " ", typed)
    if "," in typed or whole:
        return [" ".join(word.split()) for word in plain.split(",") if word.strip()]
    return plain.split()
