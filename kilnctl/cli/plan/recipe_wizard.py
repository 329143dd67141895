"""A recipe written by asking: one question at a time, every answer checked at once."""

import re
from collections.abc import Callable
from typing import TypeVar

import tomlkit

from kilnctl.cli.terminal.by_asking import Ask
from kilnctl.config.home import known
from kilnctl.config.oven import load_oven
from kilnctl.config.preferences import as_chosen, units_shown
from kilnctl.errors import KilnctlError, ProfileError
from kilnctl.tomlfile import loads
from kilnctl.treatment.recipe.recipes import Recipe
from kilnctl.treatment.segments.quench_medium import WATER
from kilnctl.treatment.steel.hardness_scales import parse_hardness
from kilnctl.treatment.steel.steels import Steel, load_steel
from kilnctl.treatment.steel.temper.temper_choice import temper_choice
from kilnctl.treatment.steel_selection import FOIL_KINDS
from kilnctl.units import parse_length_mm

Say = Callable[[str], None]
T = TypeVar("T")
CHAINS = {
    "temper": ("temper",),
    "stress relief": ("stress relief",),
    "normalise": ("normalise",),
    "anneal": ("anneal",),
    "harden and temper": ("harden", "temper"),
}
SURFACES = ("bare", "bright", "coated", "foil")


def ask_recipe(ask: Ask, say: Say) -> str:
    """Ask for a recipe and return it as TOML text that loads. Raises ProfileError where it would not."""
    answers: dict[str, object] = {"name": until(ask, say, "Name of the recipe (letters, digits, -): ", _name)}
    answers["part"] = ask("What part is it? ").strip()
    steel = until(ask, say, f"Steel ({', '.join(sorted(known('steels')))}): ", load_steel)
    answers["steel"] = steel.grade
    if choice(ask, say, "Are you sure that it is this steel", ("yes", "no")) == "no":
        answers["steel_is_a_guess"] = True
        coupons = f"`kilnctl steel coupons {answers['name']}`"
        say(f"Every number will be marked as unproven. Try coupons first: {coupons}")
    answers["section"] = until(
        ask, say, f"Thickest section, with its unit ({example('6 mm', '1/4 in')}): ", _length
    )
    if steel.kind in FOIL_KINDS:
        say(f"{steel.grade} is hardened so hot that bare steel scales and softens: foil, or coated")
    answers["surface"] = choice(ask, say, "Surface", SURFACES)
    chain = _chain(ask, say, steel)
    if "harden" in chain:
        thinnest = until(
            ask, say, f"Thinnest place that must harden ({example('1 mm', '1/16 in')}): ", _length
        )
        answers["thinnest"] = thinnest
    water = "harden" in chain and _only_water(ask, say, steel, str(answers["section"]))
    if "temper" in chain:
        answers["goal_hrc"] = until(ask, say, "Goal hardness (60-62, or 700 HV): ", lambda t: _goal(t, steel))
    temper_c = _temper_c(steel, answers.get("goal_hrc"))
    treatments = [_treatment(ask, say, do, temper_c) for do in chain]
    answers["treatment"] = [t | {"medium": WATER} if water and t["do"] == "harden" else t for t in treatments]
    text = tomlkit.dumps(answers)
    loads(text, Recipe, ProfileError, f"{answers['name']}.toml")
    return text


def _chain(ask: Ask, say: Say, steel: Steel) -> tuple[str, ...]:
    """Ask what is done, and of a grade that keeps much austenite whether it goes to the cold between."""
    chain = CHAINS[choice(ask, say, "What is to be done", tuple(CHAINS))]
    if "harden" not in chain or steel.kind not in FOIL_KINDS or not steel.cold:
        return chain
    cold = steel.cold[0]
    question = f"Cold treatment, as its card has it ({cold.words}, {cold.when})"
    if choice(ask, say, question, ("yes", "no")) == "no":
        return chain
    return ("harden", "cold treatment", "temper")


def _only_water(ask: Ask, say: Say, steel: Steel, section: str) -> bool:
    """Ask for water where the card has nothing else for so thick a part. Raises ProfileError for a no."""
    mm = parse_length_mm(section)
    media = [q.medium for q in steel.quench if q.up_to_mm is None or mm <= q.up_to_mm]
    if not media or set(media) != {WATER}:
        return False
    question = f"For {section} the card of {steel.grade} has only water or brine, which can crack it. Take it"
    if choice(ask, say, question, ("yes", "no")) == "yes":
        return True
    raise ProfileError(
        f"nothing else hardens {section} of {steel.grade}; `kilnctl steel choose` names others"
    )


def _temper_c(steel: Steel, goal: object) -> float | None:
    """Return the temper for the goal, degC, None where the card has no table."""
    if not isinstance(goal, list) or not steel.temper_table:
        return None
    return temper_choice(steel, (goal[0], goal[1])).at_c


def _treatment(ask: Ask, say: Say, do: str, temper_c: float | None) -> dict[str, object]:
    if do == "cold treatment":
        return {"do": do}
    ovens = tuple(sorted(known("ovens")))
    oven = choice(ask, say, f"Oven for {do}", ovens)
    while do == "temper" and temper_c is not None and (limit_c := _highest_c(oven)) < temper_c:
        say(f"{oven} can do {limit_c:.0f} °C; the temper for this goal is near {temper_c:.0f} °C")
        if all(_highest_c(name) < temper_c for name in ovens):
            raise ProfileError("no oven here is hot enough for the temper of this goal")
        oven = choice(ask, say, f"Oven for {do}", ovens)
    treatment: dict[str, object] = {"do": do, "oven": oven}
    if do == "anneal":
        treatment["type"] = choice(ask, say, "Kind of anneal", ("full", "spheroidise", "subcritical"))
    return treatment


def _highest_c(oven: str) -> float:
    return load_oven(known("ovens")[oven]).highest_goal_c


def example(metric: str, imperial: str) -> str:
    """Return an example in the units that the person chose; an answer may be in either, with its unit."""
    return imperial if units_shown() == "F" else metric


def until(ask: Ask, say: Say, question: str, read: Callable[[str], T]) -> T:
    """Ask until the answer can be read."""
    while True:
        try:
            return read(ask(question).strip())
        except KilnctlError as e:
            say(as_chosen()(str(e)))


def choice(ask: Ask, say: Say, question: str, choices: tuple[str, ...]) -> str:
    """Ask until the answer is one of the choices, or the beginning of just one."""

    def read(text: str) -> str:
        found = [choice for choice in choices if choice == text] or [
            choice for choice in choices if text and choice.startswith(text)
        ]
        if len(found) != 1:
            raise ProfileError(f"choose one of: {', '.join(choices)}")
        return found[0]

    return until(ask, say, f"{question} ({', '.join(choices)}): ", read)


def _name(text: str) -> str:
    if not re.fullmatch(r"[a-z0-9][a-z0-9-]{1,60}", text):
        raise ProfileError("a name has small letters, digits and hyphens, like gouge-o1-temper")
    return text


def _length(text: str) -> str:
    if not 0.2 <= parse_length_mm(text) <= 150.0:
        raise ProfileError(f"a section lies between {example('0.2 mm and 150 mm', '0.01 in and 5.9 in')}")
    return text


def _goal(text: str, steel: Steel) -> list[float]:
    low, high = (round(end, 1) for end in parse_hardness(text).hrc())
    if steel.temper_table:
        temper_choice(steel, (low, high))
    return [low, high]
