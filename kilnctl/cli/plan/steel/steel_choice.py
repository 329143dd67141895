"""The command steel choose: which steels a bench can harden to a goal, what is in the way of the others."""

import json
import textwrap
from dataclasses import replace
from typing import TYPE_CHECKING

from rich.table import Table

from kilnctl.cli.figure.figure_answer import say_span_c
from kilnctl.cli.figure.inputs import Quantity, size_mm
from kilnctl.cli.terminal.options import Json
from kilnctl.cli.terminal.tell import WIDTH, tell
from kilnctl.config.home import known
from kilnctl.config.preferences import as_chosen
from kilnctl.errors import ConfigError, ProfileError
from kilnctl.units import say_point

if TYPE_CHECKING:
    from kilnctl.treatment.steel.steels import Medium
    from kilnctl.treatment.steel_selection import Bench, Choice

ONE_TEMPER_K = 40.0  # wider than that a range alone says too little
# The carbon steels that any slower bath than fast oil leaves soft (common practice, no single source).
SHALLOW = ("1095", "W1", "W2")
SOFT_IN_VEGETABLE = "may stay soft in vegetable oil: a coupon first"
THIN_IN_VEGETABLE = "in vegetable oil to 3 mm only"
LAST_WORD = (
    "By the cards alone: hardness is not toughness, and a coupon is worth more than a table. "
    "All that is known of a steel: `kilnctl steel show GRADE`. A recipe for it: `kilnctl recipe new`."
)
# What a person says of the bath, and what a card says.
MEDIA: "dict[str, tuple[Medium, ...]]" = {
    "water": ("water or brine",),
    "brine": ("water or brine",),
    "oil": ("fast oil", "medium oil"),
    "fast oil": ("fast oil",),
    "medium oil": ("medium oil",),
    "plates": ("plates",),
    "air": ("still air",),
    "all": (),
}
# Warm vegetable oil cools a thin blade about as fast as fast oil, anything thicker as medium oil does (common
# practice, no single source).
VEGETABLE = ("vegetable oil", "vegetable", "rapeseed", "rapeseed oil", "canola", "canola oil")
THIN_MM = 3.2
IN_VEGETABLE = (
    "Vegetable oil, warmed to 50-60 °C, stands for fast oil in a thin blade only (to 3 mm): 1095, W1 and W2 "
    "stay soft in it in many a try. It is the edge that counts: 1075, 1080, 1084 of 5 or 6 mm at the spine "
    "get a hard edge in it where that is ground to 3 mm or less, and a softer spine. Cut a coupon; it goes "
    "rancid, and burns as other oil does."
)


def choose(
    goal: str,
    /,
    *,
    section: Quantity | None = None,
    quench: str = "",
    furnace: str | None = None,
    oven: str | None = None,
    use: str = "",
    as_json: Json = False,
) -> int:
    """Show which steels your bench can harden to a goal, and what rules out the others.

    Parameters
    ----------
    goal
        The hardness: 60, or 58-60 (HRC); 700HV, 341HB and 81HRA are turned into HRC.
    section
        The thickest place of the part.
    quench
        What you can quench in, separated by commas: water, oil, fast oil, medium oil, vegetable oil, plates,
        air; or all.
    furnace
        The oven file or name of the furnace.
    oven
        The oven file or name of the tempering oven.
    use
        A word for its use (knife, gouge, spring): the steels whose card has it; the others are only named.
    as_json
        Print one JSON object.
    """
    from kilnctl.treatment.steel.hardness_scales import parse_hardness
    from kilnctl.treatment.steel.steels import load_steel
    from kilnctl.treatment.steel_selection import TOUGHNESS_LOST, Bench
    from kilnctl.treatment.steel_selection import choose as choose_for

    bench = Bench(
        parse_hardness(goal).hrc(),
        None if section is None else size_mm(section),
        _media(quench, None if section is None else size_mm(section)),
        _limit_c(furnace),
        _limit_c(oven),
    )
    every = sorted(
        (choose_for(card, bench) for card in map(load_steel, known("steels").values())),
        key=lambda choice: (TOUGHNESS_LOST in choice.needs, choice.heat_c[0]),
    )
    if set(VEGETABLE) & set(_asked(quench)) and not {"oil", "fast oil", "all"} & set(_asked(quench)):
        every = [_in_vegetable(choice) for choice in every]
    found = [choice for choice in every if _stem(use) in choice.steel.use.casefold()]
    if not found:
        raise ProfileError(f'no card says "{use}" of its use; `kilnctl steel list` shows them')
    if as_json:
        print(json.dumps({"goal_hrc": bench.goal_hrc, "steels": [_data(choice) for choice in found]}))
    else:
        vegetable = any(word in VEGETABLE for word in _asked(quench))
        _print(found, bench, [choice for choice in every if choice not in found and choice.fits])
        if vegetable:
            tell(textwrap.fill(IN_VEGETABLE, WIDTH))
    return 0


def _in_vegetable(choice: "Choice") -> "Choice":
    """Return a choice that minds what vegetable oil does where fast oil is asked for."""
    if choice.medium != "fast oil":
        return choice
    said = SOFT_IN_VEGETABLE if choice.steel.grade in SHALLOW else THIN_IN_VEGETABLE
    return replace(choice, needs=(said, *choice.needs))


def _stem(use: str) -> str:
    """Return a word without its end: a knife is among knives, a gouge among gouges."""
    return use.strip().casefold()[: max(3, len(use.strip()) - 2)]


def _asked(words: str) -> list[str]:
    return [word.strip().casefold() for word in words.split(",") if word.strip()]


def _media(words: str, section_mm: float | None) -> "tuple[Medium, ...]":
    """Return the media of the cards that a person's words stand for, none for all of them."""
    thick = section_mm is not None and section_mm > THIN_MM
    known_words = MEDIA | dict.fromkeys(VEGETABLE, MEDIA["medium oil" if thick else "oil"])
    unknown = [word for word in _asked(words) if word not in known_words]
    if unknown:
        offered = ", ".join((*MEDIA, VEGETABLE[0]))
        raise ConfigError(f'"{unknown[0]}" is not a quench; there is {offered}')
    found = [known_words[word] for word in _asked(words)]
    return () if () in found else tuple(medium for media in found for medium in media)


def _limit_c(oven: str | None) -> float | None:
    if oven is None:
        return None
    from kilnctl.config.oven import LIMIT_MARGIN_K, find_oven

    return find_oven(oven).highest_goal_c + LIMIT_MARGIN_K


def _print(choices: "list[Choice]", bench: "Bench", besides: "list[Choice]") -> None:
    from kilnctl.report.layout.text_page import PageConsole
    from kilnctl.treatment.steel.hardness import said_span
    from kilnctl.treatment.steel.temper.temper_soon import temper_soon

    chosen, out = as_chosen(), PageConsole(WIDTH)
    fits = [choice for choice in choices if choice.fits]
    goal = f"{said_span(bench.goal_hrc)} HRC"
    order = "the coolest to harden first, a brittle temper last"
    tell(textwrap.fill(f"{goal} on this bench: {len(fits)} of {len(choices)} steels, {order}", WIDTH))
    if fits:
        table = Table("grade", "harden at", "quench", "temper", "mind", width=WIDTH, pad_edge=False)
        for choice in fits:
            table.add_row(*(chosen(text) for text in _row(choice)))
        out.print(table)
    for choice in choices:
        if not choice.fits:
            said = f"- {choice.steel.grade}: {'; '.join(choice.in_the_way)}"
            tell(textwrap.fill(said, WIDTH, subsequent_indent="  "))
    if besides:
        names = ", ".join(choice.steel.grade for choice in besides)
        tell(textwrap.fill(f"Their cards name other uses, this bench can harden them too: {names}.", WIDTH))
    if fits:
        tell(textwrap.fill(chosen(f"After the quench {temper_soon()}."), WIDTH))
    tell(textwrap.fill(LAST_WORD, WIDTH))


def _row(choice: "Choice") -> tuple[str, str, str, str, str]:
    assert choice.temper is not None
    heat, temper = say_span_c(*choice.heat_c), say_point(choice.temper.at_c)
    if choice.temper.high_c - choice.temper.low_c > ONE_TEMPER_K:
        temper += f"; sources: {say_span_c(choice.temper.low_c, choice.temper.high_c)}"
    return choice.steel.grade, heat, choice.medium or "", temper, "; ".join(choice.needs)


def _data(choice: "Choice") -> dict[str, object]:
    return {
        "grade": choice.steel.grade,
        "fits": choice.fits,
        "austenitise_c": choice.heat_c,
        "quench": choice.medium,
        "temper_c": None if choice.temper is None else choice.temper.at_c,
        "in_the_way": choice.in_the_way,
        "mind": choice.needs,
    }
