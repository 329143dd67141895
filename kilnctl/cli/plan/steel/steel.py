"""The commands about steels: cards, a choice of them, one written or checked, an unknown steel on coupons."""

import json
import sys
import tomllib
from pathlib import Path
from typing import TYPE_CHECKING

from cyclopts import App

from kilnctl.cli.plan.steel.coupon_page import coupons
from kilnctl.cli.plan.steel.steel_choice import choose
from kilnctl.cli.terminal.by_asking import save_answers, stoppable
from kilnctl.cli.terminal.options import PRINTED, Json, refuse_unused
from kilnctl.cli.terminal.tell import tell, tell_boxes
from kilnctl.config import home
from kilnctl.config.home import known
from kilnctl.errors import ProfileError

if TYPE_CHECKING:
    from kilnctl.treatment.steel.steels import Steel

steel = App(
    name="steel",
    help="Steel cards: list, show and choose; write and check your own; try an unknown steel on coupons.",
)


@steel.default
def show(grade: str | None = None, /, *, out: Path | None = None, as_json: Json = False) -> int:
    """Show a steel card with the source of every number, or the list of cards.

    Parameters
    ----------
    grade
        A grade (O1, 5160, ...) or the path of a card.
    out
        Write the card as a page (html, pdf) in place of printing it.
    as_json
        Print the card as one JSON object.
    """
    from kilnctl.cli.plan.steel.steel_card_page import print_card, print_cards
    from kilnctl.treatment.steel.steels import load_steel

    if grade is None:
        refuse_unused("a page shows one steel: name its grade", out=out)
        cards = [load_steel(path) for path in known("steels").values()]
        if as_json:
            print(json.dumps([card.model_dump(mode="json") for card in cards]))
        else:
            print_cards(cards)
        return 0
    card = load_steel(grade)
    if as_json:
        refuse_unused(PRINTED, out=out)
        print(json.dumps(card.model_dump(mode="json")))
    elif out is not None:
        _write(card, out)
    else:
        print_card(card)
    return 0


def _write(card: "Steel", out: Path) -> None:
    from kilnctl.cli.plan.steel.steel_page import steel_page
    from kilnctl.report.layout.page_file import write_page
    from kilnctl.report.workshop import workshop

    tell_boxes(out, write_page(steel_page(card, workshop()), out))
    print(f"{out}: {card.grade}")


def list_cards() -> int:
    """List the steel cards that are known here: your own and the bundled ones."""
    return show()


def new(*, out: Path | None = None) -> int:
    """Write a steel card by answering questions; every number has its source and is checked.

    Parameters
    ----------
    out
        The file to write; left out, the grade's name in the steels folder of your kilnctl folder.
    """
    from kilnctl.cli.plan.steel.steel_wizard import ask_card

    if not sys.stdin.isatty():
        raise ProfileError(
            "steel new asks questions and needs a terminal; `kilnctl guide own-steel` shows a card"
        )
    try:
        print("q stops; nothing is written before the end.")
        text = ask_card(stoppable(input), print)
        _stand_by(text)
    except EOFError:
        raise ProfileError("stopped; nothing was written") from None
    path = out or home.home() / "steels" / f"{tomllib.loads(text)['grade']}.toml"
    save_answers(text, path)
    print(f"{path} written.")
    return check(str(path))


def _stand_by(text: str) -> None:
    """Ask whether a card with numbers that can hardly be is meant so. Raises EOFError where it is not."""
    from kilnctl.tomlfile import loads
    from kilnctl.treatment.steel.card_review import slips
    from kilnctl.treatment.steel.steels import Steel

    found = slips(loads(text, Steel, ProfileError, "card"))
    for doubt in found:
        tell(f"  {doubt}")
    if found and not stoppable(input)("Write it all the same? y, or Enter for no: ").strip().startswith("y"):
        raise EOFError


def check(card: str, /) -> int:
    """Check a steel card: is it complete, and is anything in it doubtful?

    Parameters
    ----------
    card
        A grade or the path of a card.
    """
    from kilnctl.treatment.steel.card_review import review_card
    from kilnctl.treatment.steel.steels import load_steel

    found = load_steel(card)
    print(f"{found.grade}: complete, {len(found.claims())} numbers, each with its source")
    for doubt in review_card(found):
        tell(f"  {doubt}")
    return 0


steel.command(list_cards, name="list", sort_key=0)
steel.command(show, name="show", sort_key=1)
steel.command(choose, sort_key=2)
steel.command(new, sort_key=3)
steel.command(check, sort_key=4)
steel.command(coupons, sort_key=5)
