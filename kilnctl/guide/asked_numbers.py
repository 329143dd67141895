"""Which numbers of a question are steels and which are heats: "O1 at 1080" names one steel and one heat."""

import re
from collections.abc import Callable
from dataclasses import dataclass

COOLEST, HOTTEST = 140.0, 2400.0  # of a number without a unit that can be a heat of steel, °C or °F
_UNIT = r"(?:[CFcf]|[Cc]elsius|[Ff]ahrenheit)"
_DEGREES = r"(?:°|º|deg\.?|degrees?)"
_NUMBER = re.compile(
    rf"(?<![\w.,/$#-])(?P<value>\d{{3,4}}(?:\.\d+)?)"
    rf"(?:\s*(?P<degrees>{_DEGREES}))?(?:\s*(?P<unit>{_UNIT}))?(?![\w-])(?!\.\d)"
)
_RANGE = re.compile(rf"(\d{{3,4}})\s*(?:-|–|to)\s*(\d{{3,4}})(\s*{_DEGREES}?\s*{_UNIT})(?!\w)")
# "at 1080", "set to 1080", "up to 1080": a heat; after "to" a steel may be meant too ("weld O1 to 1080").
_HEAT_BEFORE = re.compile(
    r"\b(at|set( it)?|go(es)?|heat(s|ed)?|near|past|above|below|over|under|around|about|reach(es|ed)?|hit|"
    r"by|read(s|ing)?|showed|shows|ran( away)?( to)?|to|from|"
    r"overshot|overshoots?|got|stuck|hangs?|hung|climb(s|ed)|soft|hard|brittle|cracked|warped)[\s,:]*$",
    re.IGNORECASE,
)
_HEAT_AFTER = re.compile(r"^[\s,]*(is )?(too|hot|cold|enough|ok|okay|safe|right)\b", re.IGNORECASE)
_JOINED = re.compile(r"(\b(and|or|with|vs|versus|like|than)|[+&/])\.?\s*$", re.IGNORECASE)
_JOINS = re.compile(r"^\s*(\b(and|or|with|vs|versus|than|together)\b|[+&/])", re.IGNORECASE)
_STEEL_TO_STEEL = re.compile(
    r"\b(weld\w*|braz\w*|join\w*|clad\w*|laminat\w*|damascus|san.?mai|compar\w*|differ\w*|switch\w*|chang\w*)\b",
    re.IGNORECASE,
)
# Numbers that steel, sheet, wire and foil are called by and that have no card: AISI and SAE grades.
ALLOYS = frozenset(
    str(number)
    for number in (
        *(301, 302, 303, 304, 309, 310, 316, 321, 347),
        *(403, 409, 410, 416, 420, 430, 440, 446),
        *(1006, 1008, 1018, 1020, 4130),
    )
)
_STEP = r"(harden|temper|austeniti|normali|anneal|preheat|quench|forg|soak|stress|reliev|draw|spheroidi)\w*"
_STEP_BEFORE = re.compile(rf"\b({_STEP}|oven|furnace|kiln)(\s+[\w-]+)?[\s,:]*$", re.IGNORECASE)
_STEP_AFTER = re.compile(rf"^[\s,]*(for |and |then )?{_STEP}", re.IGNORECASE)
_NO_HEAT_BEFORE = re.compile(
    r"\b(grit|emery|paper|no\.?|number|psi|rpm|watts?|aisi|sae|stainless|long|wide|thick|model|type|grade)"
    r"( is| of)?[\s:=]*$",
    re.IGNORECASE,
)
_NO_HEAT_AFTER = re.compile(
    r"^\s*(grit|mm|cm|inch\w*|h|hours?|min\w*|s|sec\w*|v|volts?|w|watts?|kw|rpm|hv|hb\w*|hrc|g|grams?|kg|lb|"
    r"k|mpa|psi|hpa|m|ft|feet|ohms?|steels?|blades?|knife|knives|sides?|clad\w*|wires?|foils?|jigs?|rods?|"
    r"stainless|long|wide|thick|deep|high|sheets?|strips?|bars?|tubes?|pipes?|jackets?|layers?|pounds?|tons?|"
    r"euros?|dollars?|pieces?|parts|belts?)\b",
    re.IGNORECASE,
)
# Words beside which a steel and a number are still all that is asked: "O1 800", "is 1500 F or 800 for O1".
_FILLING = re.compile(
    rf"(?:{_STEP}|and|or|for|is|of|then|a|the|my|in|oil|water|air|plates?|[cf]|ok|\d+(x|h|min|mm)?|hours?|min\w*)",
    re.IGNORECASE,
)


@dataclass(frozen=True, slots=True)
class AskedHeat:
    """A heat as typed: its number, and C or F, or nothing where no unit was typed."""

    value: float
    unit: str


@dataclass(frozen=True, slots=True)
class SteelsAndHeats:
    """What a question names: steels, heats; what was taken for a heat though a steel is called so; doubts."""

    grades: tuple[str, ...]
    heats: tuple[AskedHeat, ...] = ()
    not_grades: tuple[str, ...] = ()
    doubtful: tuple[str, ...] = ()


def asked_numbers(text: str, grade_of: Callable[[str], str | None]) -> SteelsAndHeats:
    """Return which steels and which heats a question names; `grade_of` knows the steels that have a card."""
    text = _RANGE.sub(lambda m: m[0] if grade_of(m[1]) else f"{m[1]}{m[3]} to {m[2]}{m[3]}", text)
    heats: list[AskedHeat] = []
    not_grades: list[str] = []
    doubtful: list[str] = []
    kept = text
    for match in _NUMBER.finditer(text):
        grade = grade_of(match[0].strip())
        meant = _meant(match, text, grade_of) if grade else _heat_or_nothing(match, text, grade_of)
        if meant in ("heat", "doubt"):
            heats.append(AskedHeat(float(match["value"]), (match["unit"] or "").upper()[:1]))
        if meant == "doubt" and grade:
            doubtful.append(grade)
        if meant == "heat":
            kept = kept[: match.start()] + " " * len(match[0]) + kept[match.end() :]
            not_grades += [grade] if grade else []
    words = (word.strip(".") for word in re.findall(r"[\w.-]+", _apart(kept, grade_of)))
    grades = tuple(dict.fromkeys(grade for word in words if (grade := grade_of(word))))
    return SteelsAndHeats(grades, tuple(dict.fromkeys(heats)), tuple(not_grades), tuple(doubtful))


def _apart(text: str, grade_of: Callable[[str], str | None]) -> str:
    """Return a text whose kelvins are no steels: "1080 K" is a temperature."""
    return re.sub(r"\d+ ?°? ?[CFK]\b", lambda at: at[0] if grade_of(at[0]) else "", text)


def _meant(match: re.Match[str], text: str, grade_of: Callable[[str], str | None]) -> str:
    """Return whether a number that a steel is called by is the steel, a heat, or in doubt."""
    before, after = text[: match.start()], text[match.end() :]
    rest = re.findall(r"[\w.-]+", f"{before} {after}")
    if not any(grade_of(word.strip(".")) not in (None, grade_of(match[0].strip())) for word in rest):
        return "steel"
    heat = _HEAT_BEFORE.search(before)
    if heat and not (heat[1].lower().startswith("heat") and _JOINS.match(after)):
        return "doubt" if heat[1].lower() in ("to", "from") and _STEEL_TO_STEEL.search(text) else "heat"
    if _HEAT_AFTER.match(after):
        return "heat"
    if _JOINED.search(before) or _JOINS.match(after) or _NO_HEAT_AFTER.match(after):
        return "steel"
    beside = (*re.findall(r"([\w.-]+)[\s,:;]*$", before), *re.findall(r"^[\s,:;]*([\w.-]+)", after))
    doubt = any(grade_of(word.strip(".")) for word in beside) and not _STEEL_TO_STEEL.search(text)
    return "doubt" if doubt else "steel"


def _heat_or_nothing(match: re.Match[str], text: str, grade_of: Callable[[str], str | None]) -> str:
    """Return whether a number that no card is called by is a heat: only where the words beside it say so."""
    if match["unit"] or match["degrees"]:
        return "heat"
    before, after = text[: match.start()], text[match.end() :]
    other = _NO_HEAT_BEFORE.search(before) or _NO_HEAT_AFTER.match(after)
    if other or not COOLEST <= float(match["value"]) <= HOTTEST:
        return "nothing"
    alloy = match["value"] in ALLOYS
    heat = _HEAT_BEFORE.search(before)
    if heat:
        return "nothing" if alloy and _STEEL_TO_STEEL.search(text) else "heat"
    if _STEP_BEFORE.search(before) or _STEP_AFTER.match(after) or _HEAT_AFTER.match(after):
        return "heat"
    beside = re.findall(r"([\w.-]+)[\s,:]*$", before)
    named = any(grade_of(word.strip(".")) for word in beside) or _is_alone(f"{before} {after}", grade_of)
    return "heat" if named and not alloy else "nothing"


def _is_alone(rest: str, grade_of: Callable[[str], str | None]) -> bool:
    """Return whether beside a number only steels, other numbers and words for heats are asked of."""
    words = (word.strip(".") for word in re.findall(r"[\w.-]+", rest))
    return all(grade_of(word) or _FILLING.fullmatch(word) for word in words)
