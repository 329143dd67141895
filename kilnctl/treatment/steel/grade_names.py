"""By which names a grade is found: its card's file, its other names, and spellings of them."""

import re
import tomllib
from collections.abc import Mapping
from pathlib import Path

_SISTER = "sister grade"
_BESIDE = re.compile(r"^(AISI|SAE)\s*-?\s*(?=\w)", re.IGNORECASE)


def plain(name: str) -> str:
    """Return a name without what people write differently: "o-1", "O 1" and "AISI O1" are one."""
    return re.sub(r"[\s_-]", "", _BESIDE.sub("", name.strip())).casefold()


def card_of(name: str, cards: Mapping[str, Path]) -> Path | None:
    """Return the card that a name means, by its file's name or another name that the card gives; or None."""
    by_grade = {plain(grade): path for grade, path in cards.items()}
    if plain(name) in by_grade:
        return by_grade[plain(name)]
    for path in by_grade.values():
        if any(plain(other) == plain(name) for other in _also_called(path) if _SISTER not in other):
            return path
    return None


def sister_of(name: str, cards: Mapping[str, Path]) -> str | None:
    """Return the grade whose card calls the name a sister grade: near, and not the same; or None."""
    for grade, path in cards.items() if plain(name) else ():
        sisters = (re.split(r"[ (),]+", other) for other in _also_called(path) if _SISTER in other)
        if any(plain(name) in map(plain, words) for words in sisters):
            return grade
    return None


def _also_called(path: Path) -> tuple[str, ...]:
    """Return the other names on a card; none of a card that cannot be read, which its reader will say."""
    try:
        names = tomllib.loads(path.read_text(encoding="utf-8")).get("also_called", ())
    except (OSError, ValueError):
        return ()
    return tuple(name for name in names if isinstance(name, str)) if isinstance(names, list) else ()
