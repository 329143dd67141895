"""A steel card written by asking: every number gets its source, and the whole card is checked at once."""

import re
from collections.abc import Callable
from typing import Any, TypeVar, get_args

import tomlkit

from kilnctl.cli.plan.recipe_wizard import Say, choice, example, until
from kilnctl.cli.terminal.by_asking import Ask
from kilnctl.config import home
from kilnctl.errors import ProfileError
from kilnctl.tomlfile import loads
from kilnctl.treatment.steel.grade_names import card_of
from kilnctl.treatment.steel.hardness_scales import HARDEST_HRC
from kilnctl.treatment.steel.no_card import say_known
from kilnctl.treatment.steel.steels import Kind, Medium, Steel
from kilnctl.units import parse_duration_s, parse_length_mm, parse_point_c

T = TypeVar("T")
# "790 C to 815 C", "790-815 C", "1475 F – 1500 F": as sheets write it.
_SPAN = re.compile(r"(\d[\d.]*)\s*(°?\s*[CF])?\s*(?:to|-|–)\s*(\d.*?\s*(°?\s*[CF])?)", re.IGNORECASE)
_TIMES = re.compile(r"(\d[\d.]*)\s*(min|h)?\s*(?:to|-|–)\s*(\d[\d.]*\s*(min|h))", re.IGNORECASE)
_ROW = re.compile(r"\s*(.+?)\s*:\s*(\d+(?:\.\d+)?)(?:\s*-\s*(\d+(?:\.\d+)?))?\s*(?:HRC)?\s*")


def ask_card(ask: Ask, say: Say) -> str:
    """Ask for a steel card and return it as TOML text that loads. Raises ProfileError where it would not.

    Each source is asked for its own heats, media and ladder: where they differ, the card keeps both.
    """
    unit = example("800 C, 1475 F", "1475 F, 800 C")
    say(f"Write every temperature with its unit ({unit}). Enter leaves a question out where it says so.")
    card: dict[str, Any] = {"grade": until(ask, say, "Grade: ", _grade)}
    if known := say_known(card["grade"]):
        say(f"{card['grade']}: {known}.")
    if there := card_of(card["grade"], home.known("steels")):
        say(f"There is a card of it: `kilnctl steel {there.stem}`. Yours takes its place; q stops.")
    card["kind"] = choice(ask, say, "Kind", get_args(Kind))
    card["use"] = ask("What is it for? ").strip()
    card["sources"] = {}
    name = _ask_source(ask, say, card, "Where do the numbers come from (sheet and year, or own trials): ")
    carbon = until(ask, say, "Carbon in per cent (0.95): ", _percent)
    card["composition"] = {"C": {"typical": carbon, "source": name}}
    while _ask_source(ask, say, card, "Another source with numbers of its own (Enter: no more): "):
        pass
    card["temper"] = [{"from": 2, "to": 2, "time": "2h", "source": "common practice"}]
    text = tomlkit.dumps(card)
    loads(text, Steel, ProfileError, f"{card['grade']}.toml")
    return text


def _ask_source(ask: Ask, say: Say, card: dict[str, Any], question: str) -> str:
    """Ask for one source and what it says, into the card; return its name, or nothing where there is none."""
    first = not card["sources"]
    where = until(ask, say, question, _source if first else lambda text: text and _source(text))
    if not where:
        return ""
    name = f"source {len(card['sources']) + 1}"
    card["sources"][name] = where
    heats = example("800 C to 815 C", "1475 F to 1500 F")
    heat = until(ask, say, f"Hardening heat, from and to ({heats}{_ENTER[first]}): ", _maybe(_span, first))
    if heat:
        soak = until(ask, say, "Soak at heat (10 min; Enter: not known): ", _maybe(_soak, False))
        _add(card, "austenitise", {**heat, **(soak or {})}, name)
    hot = until(ask, say, "Too hot from (Enter: not known): ", _maybe(_point, False))
    if hot:
        _add(card, "too_hot", {"at": hot}, name)
    _ask_quenches(ask, say, card, name, first)
    ladder = example("205 C: 60-62, 260 C: 57-59", "400 F: 60-62, 500 F: 57-59")
    rows = until(ask, say, f"Temper and hardness ({ladder}; Enter: not known): ", _rows)
    if rows:
        _add(card, "temper_table", {"row": rows}, name)
    return name


_ENTER = {True: "", False: "; Enter: says none"}


def _ask_quenches(ask: Ask, say: Say, card: dict[str, Any], name: str, first: bool) -> None:
    """Ask for each medium of a source, with the thickest section that it hardens."""
    media = get_args(Medium)
    medium = choice(ask, say, "Quench", media) if first else _choice_or_none(ask, say, "Its quench", media)
    while medium:
        size = example("6 mm", "1/4 in")
        up_to = until(ask, say, f"Up to which thickness ({size}; Enter: not said): ", _maybe(_length, False))
        _add(card, "quench", {"medium": medium, **({"up_to": up_to} if up_to else {})}, name)
        medium = _choice_or_none(ask, say, "And another medium", media)


def _choice_or_none(ask: Ask, say: Say, question: str, choices: tuple[str, ...]) -> str:
    """Ask for one of the choices or for none, by Enter."""

    def read(text: str) -> str:
        found = [word for word in choices if word == text] or [w for w in choices if w.startswith(text)]
        if text and len(found) != 1:
            raise ProfileError(f"choose one of: {', '.join(choices)}, or Enter")
        return found[0] if text else ""

    return until(ask, say, f"{question} ({', '.join(choices)}; Enter: none): ", read)


def _add(card: dict[str, Any], key: str, claim: dict[str, Any], name: str) -> None:
    card.setdefault(key, []).append({**claim, "source": name})


def _maybe(read: Callable[[str], T], needed: bool) -> Callable[[str], T | None]:
    """Return a reader that takes Enter for nothing, unless something is needed."""
    return read if needed else lambda text: read(text) if text else None


def _length(text: str) -> str:
    parse_length_mm(text)
    return text


def _grade(text: str) -> str:
    if not re.fullmatch(r"[A-Za-z0-9][A-Za-z0-9.-]{0,40}", text):
        raise ProfileError("a grade has letters, digits, dots and hyphens, like 80CrV2")
    return text


def _source(text: str) -> str:
    if len(text) < 3:
        raise ProfileError("no number without its source: a sheet, a book, or what you measured yourself")
    return text


def _point(text: str) -> str:
    parse_point_c(text)
    return text


def _span(text: str) -> dict[str, str]:
    match = _SPAN.fullmatch(text)
    if match is None:
        return {"at": _point(text)}
    low, high = f"{match[1]} {match[2] or match[4] or ''}".strip(), match[3]
    if parse_point_c(low) > parse_point_c(high):
        heats = example("800 C to 815 C", "1475 F to 1500 F")
        raise ProfileError(f"write the lower heat first, like {heats}")
    return {"from": low, "to": high}


def _soak(text: str) -> dict[str, str]:
    """Read "10 min", "10 to 15 min" or "10-15 min" as a soak's shorter and longer end."""
    match = _TIMES.fullmatch(text)
    low, high = (text, text) if match is None else (f"{match[1]} {match[2] or match[4]}", match[3])
    if not 0.0 < parse_duration_s(low) <= parse_duration_s(high):
        raise ProfileError("a soak is more than nothing, its shorter end first: 10 min, or 10 to 15 min")
    return {"soak_from": low, "soak_to": high}


def _percent(text: str) -> float:
    try:
        found = float(text.replace(",", "."))
    except ValueError:
        found = -1.0
    if not 0.05 <= found <= 3.0:
        raise ProfileError("write the carbon in per cent by weight, like 0.95")
    return found


def _rows(text: str) -> list[dict[str, Any]]:
    rows = []
    for piece in filter(str.strip, re.split("[,;]", text)):
        match = _ROW.fullmatch(piece)
        if match is None:
            raise ProfileError(
                f'cannot read "{piece.strip()}"; write it like {example("205 C: 60-62", "400 F: 60-62")}'
            )
        low, high = float(match[2]), float(match[3] or match[2])
        if not 0.0 <= low <= high <= HARDEST_HRC:
            raise ProfileError(
                f'"{piece.strip()}": write the softer end first, and HRC up to {HARDEST_HRC:.0f}'
            )
        rows.append({"at": _point(match[1]), "hrc": [low, high]})
    return sorted(rows, key=lambda row: parse_point_c(row["at"]))
