"""A steel card written by asking: every number gets its source, and the whole card is checked at once."""

import re
from typing import Any, get_args

import tomlkit

from kilnctl.cli.plan.recipe_wizard import Ask, Say, choice, until
from kilnctl.errors import ProfileError
from kilnctl.tomlfile import loads
from kilnctl.treatment.steel.steels import Kind, Medium, Steel
from kilnctl.units import parse_duration_s, parse_point_c

_SPAN = re.compile(r"(.+?)\s+to\s+(.+)")
_ROW = re.compile(r"\s*(.+?)\s*:\s*(\d+(?:\.\d+)?)(?:\s*-\s*(\d+(?:\.\d+)?))?\s*(?:HRC)?\s*")
OWN = "my source"


def ask_card(ask: Ask, say: Say) -> str:
    """Ask for a steel card and return it as TOML text that loads. Raises ProfileError where it would not."""
    say(
        "Write every temperature with its unit (800 C, 1475 F). Enter leaves a question out where it says so."
    )
    card: dict[str, Any] = {"grade": until(ask, say, "Grade: ", _grade)}
    card["kind"] = choice(ask, say, "Kind", get_args(Kind))
    card["use"] = ask("What is it for? ").strip()
    where = until(ask, say, "Where do the numbers come from (sheet and year, or own trials): ", _source)
    heat = until(ask, say, "Hardening heat, from and to (800 C to 815 C): ", _span)
    soak = until(ask, say, "Soak at heat (10 min): ", _time)
    card["austenitise"] = [{**heat, "soak_from": soak, "soak_to": soak, "source": OWN}]
    hot = until(ask, say, "Too hot from (Enter: not known): ", lambda text: text and _point(text))
    if hot:
        card["too_hot"] = [{"at": hot, "source": OWN}]
    card["quench"] = [{"medium": choice(ask, say, "Quench", get_args(Medium)), "source": OWN}]
    card["temper"] = [{"from": 2, "to": 2, "time": "2h", "source": "common practice"}]
    card["sources"] = {OWN: where}
    carbon = until(ask, say, "Carbon in per cent (0.95): ", _percent)
    card["composition"] = {"C": {"typical": carbon, "source": OWN}}
    rows = until(ask, say, "Temper and hardness (205 C: 60-62, 260 C: 57-59; Enter: not known): ", _rows)
    if rows:
        card["temper_table"] = [{"source": OWN, "row": rows}]
    text = tomlkit.dumps(card)
    loads(text, Steel, ProfileError, f"{card['grade']}.toml")
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
    if parse_point_c(match[1]) > parse_point_c(match[2]):
        raise ProfileError("write the lower heat first, like 800 C to 815 C")
    return {"from": match[1], "to": match[2]}


def _time(text: str) -> str:
    parse_duration_s(text)
    return text


def _percent(text: str) -> float:
    try:
        found = float(text)
    except ValueError:
        found = -1.0
    if not 0.05 <= found <= 3.0:
        raise ProfileError("write the carbon in per cent by weight, like 0.95")
    return found


def _rows(text: str) -> list[dict[str, Any]]:
    rows = []
    for piece in filter(None, text.split(",")):
        match = _ROW.fullmatch(piece)
        if match is None:
            raise ProfileError(f'cannot read "{piece.strip()}"; write it like 205 C: 60-62')
        low, high = float(match[2]), float(match[3] or match[2])
        rows.append({"at": _point(match[1]), "hrc": [low, high]})
    return sorted(rows, key=lambda row: parse_point_c(row["at"]))
