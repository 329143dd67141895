"""Every key of the list has its action, and what turns the view is no way of heating."""

from kilnctl.dashboard.app import WatchApp
from kilnctl.dashboard.keys import HEATING_ACTIONS, KEYS
from kilnctl.dashboard.view_actions import Turning


def test_every_key_does_something() -> None:
    actions = {key.action.split("(")[0] for key in KEYS}
    assert {action for action in actions if not hasattr(WatchApp, f"action_{action}")} == set()


def test_what_turns_the_view_heats_nothing() -> None:
    turns = {name.removeprefix("action_") for name in vars(Turning) if name.startswith("action_")}
    assert "page" in turns
    assert not turns & set(HEATING_ACTIONS)
