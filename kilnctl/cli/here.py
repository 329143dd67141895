"""Whoever confirms something over a network proves that he stands at the oven."""

from kilnctl.clock import Clock
from kilnctl.config.oven import Oven
from kilnctl.devices.hands import open_hands
from kilnctl.devices.roles import Hands
from kilnctl.runtime import presence


def prove_with(oven: Oven, hands: Hands, clock: Clock) -> None:
    """Ask for the lamp's numbers with hands that are connected. Raises RunRefused for a wrong answer."""
    if not (oven.simulated or presence.here_now()):
        print("You are not at this computer's own screen: look at the oven now.", flush=True)
        presence.prove(oven, hands, clock, input)


def prove(oven: Oven, clock: Clock) -> None:
    """Open the oven's ports for a moment and ask for the lamp's numbers. Raises RunRefused, DeviceError."""
    if oven.simulated or presence.here_now():
        return
    hands = open_hands(oven, clock)
    try:
        hands.connect()
        prove_with(oven, hands, clock)
    finally:
        hands.close()
