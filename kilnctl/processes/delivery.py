"""Sending one message over one channel, with the receipt that the channel gives: its server took it, or not.

Never called from a process that heats: see `processes/messenger`.
"""

import urllib.request
import warnings
from dataclasses import dataclass

from kilnctl.clock import Clock
from kilnctl.config.channels import Alive, Channel, Told

TITLE = "kilnctl"
CALL_S = 5.0


@dataclass(frozen=True, slots=True)
class Receipt:
    """What came of a message. `delivered`: the channel's server took it; nobody knows whether it was read."""

    channel: str
    delivered: bool
    took_s: float
    why: str = ""

    def line(self) -> str:
        """Return one line for a person."""
        if self.delivered:
            return f"ok    {self.channel}: taken by the channel after {self.took_s:.1f} s"
        return f"WRONG {self.channel}: not taken: {self.why}"


def send(channel: Channel, words: str, clock: Clock) -> Receipt:
    """Send words. Never raises; takes some ten seconds at most, as long as the library waits."""
    start_s = clock.real_s()
    why = _sent(channel, words)
    return Receipt(channel.name, not why, round(clock.real_s() - start_s, 2), why)


def send_all(channels: tuple[Channel, ...], told: Told, words: str, clock: Clock) -> list[Receipt]:
    """Send words over every channel that wants this kind of news."""
    return [send(channel, words, clock) for channel in channels if channel.wants(told)]


def call(alive: Alive) -> bool:
    """Call the address that alarms when it is not called; return whether it answered. Never raises."""
    try:
        with urllib.request.urlopen(alive.url, timeout=CALL_S) as answer:
            return bool(200 <= answer.status < 300)
    except (OSError, ValueError):
        return False


def _sent(channel: Channel, words: str) -> str:
    """Return why it was not sent, empty where it was. The reason names no address: it may hold a key."""
    try:
        import apprise
    except ImportError:
        return "the message library is not installed: pip install 'kilnctl[messages]'"
    try:
        apprise.logger.disabled = True  # it prints addresses
        with warnings.catch_warnings(action="ignore"):  # what it finds outdated in Python is not ours to mend
            carrier = apprise.Apprise()
            if not carrier.add(channel.url):
                return "its url is not an address that the message library knows"
            return "" if carrier.notify(body=words, title=TITLE) else "no network, or a wrong address or key"
    except Exception as e:  # a library that speaks to hundreds of services; no message may end its sender
        return f"the message library failed ({type(e).__name__})"
