"""The command that shows steel cards: steel."""

import json

from kilnctl.cli.terminal.options import Json
from kilnctl.config.home import known


def steel(grade: str | None = None, /, *, as_json: Json = False) -> int:
    """Show a steel card with the source of every number, or the list of cards.

    Parameters
    ----------
    grade
        A grade (O1, 5160, ...) or the path of a card.
    as_json
        Print the card as one JSON object.
    """
    from kilnctl.cli.plan.steel_card_page import print_card, print_cards
    from kilnctl.treatment.steel.steels import load_steel

    if grade is None:
        cards = [load_steel(path) for path in known("steels").values()]
        if as_json:
            print(json.dumps([card.model_dump(mode="json") for card in cards]))
        else:
            print_cards(cards)
        return 0
    card = load_steel(grade)
    if as_json:
        print(json.dumps(card.model_dump(mode="json")))
    else:
        print_card(card)
    return 0
