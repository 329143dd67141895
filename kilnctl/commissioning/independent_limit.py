"""The independent limit at the set-up: what it is set to, and that it cuts the heat by itself."""

from kilnctl.commissioning import checklists as paper
from kilnctl.commissioning.prompts import all_yes, point_c, tell_finding, until_read
from kilnctl.commissioning.wizard import Result, Shop
from kilnctl.permits.setup_steps import SetupStep
from kilnctl.units import parse_point_c

# An independent limit may be set this much above the oven file's limit at most; higher it guards nothing.
LIMIT_ABOVE_K = 30.0
TOO_HIGH = (
    "{0:.0f} °C guards nothing here: `limit` is {1:.0f} °C in the oven file. It says what the machine itself "
    "bears, and the independent limit must cut the heat at most {2:.0f} K above that. If the machine bears "
    "no more, set the independent limit to {3:.0f} °C at most, at its own knob. If {1:.0f} °C was only your "
    "own ceiling, or the highest set-point of its instrument, stop here, write as `limit` what the machine's "
    "plate says it bears (an instrument's highest set-point is `highest` of output.heater), and begin again: "
    "every heat is cut 15 K above its own highest goal anyway"
)
# Above what the oven file says that the oven bears, and not yet refused.
HIGH = (
    "{0:.0f} °C lies {1:.0f} K above what the oven file says that this oven bears. A limiter is there to cut "
    "the heat before anything is harmed: its place is close above the highest heat that you want. What is "
    "on its own plate and the oven's comes first"
)
SET_ANEW = "What is it set to now (Enter: it stays as it is, and no heat may come on)? "
STAYS = "the independent limit is set too high to guard this oven"


def limit_setting(shop: Shop) -> float | None:
    """Ask what the independent limit is set to; None where it stays too high to guard this oven."""
    set_c: float | None = point_c(shop, 'Set value of the independent limit, with unit ("275 C"): ')
    highest_c = shop.oven.limit_c + LIMIT_ABOVE_K
    while set_c is not None and set_c > highest_c:
        shop.person.say(f"  {TOO_HIGH.format(set_c, shop.oven.limit_c, LIMIT_ABOVE_K, highest_c)}")
        set_c = until_read(shop, SET_ANEW, lambda text: parse_point_c(text) if text else None, needed=False)
    if set_c is not None and set_c > shop.oven.limit_c:
        shop.person.say(f"  {HIGH.format(set_c, set_c - shop.oven.limit_c)}")
    return set_c


def limit_test(shop: Shop, step: SetupStep) -> Result:
    """Heat until the limit, set to 150 °C, opens; then the pass without a computer; then its real setting."""
    if not shop.person.key("Can the limit be set to 150 °C?"):
        return _makers_limit_test(shop)
    if not shop.person.key("Is it set to 150 °C, the oven empty and shut, you beside it?"):
        return Result(False, note="not begun")
    found = shop.drill("limit", step)
    tell_finding(shop, found)
    if not found.passed:
        return Result(False, found.value, found.line)
    at_c = found.value if found.value is not None else point_c(shop, "At which temperature did it open? ")
    passed, data = all_yes(shop, paper.LIMIT_QUESTIONS)
    set_c = limit_setting(shop) if passed else None
    data |= {"limit set to, °C": set_c} if set_c is not None else {}  # type: ignore[dict-item]
    return Result(passed and set_c is not None and step.accepts(at_c), at_c, found.line, dict(data))


def _makers_limit_test(shop: Shop) -> Result:
    passed, data = all_yes(shop, paper.MAKERS_LIMIT_QUESTIONS)
    set_c = limit_setting(shop) if passed else None
    how = shop.person.ask("Its maker's test: what was done, what was seen? ")
    said = f"tested by its maker's method, it cannot be set to 150 °C: {how}"
    return Result(passed and set_c is not None, 150.0, said, {**data, "limit set to, °C": set_c})
