"""A length of time on a page. Apart from what a treatment is called: a list of heats loads no profile."""

from kilnctl.units import say_duration


def spoken(seconds: float) -> str:
    """Return a duration as it is said: "2 h" where it is two hours."""
    return say_duration(seconds).removesuffix(" 00 min")
