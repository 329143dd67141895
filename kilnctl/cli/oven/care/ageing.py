"""The command that compares how long an oven heats at full power, then and now: care ageing."""

from typing import TYPE_CHECKING

from kilnctl.cli.record.open_logbook import COMPLETE, opened
from kilnctl.cli.terminal.options import refuse_unused
from kilnctl.units import say_duration

if TYPE_CHECKING:
    from kilnctl.config.oven import Oven

# From which share of the oven's limit to which the full-power time is compared.
_FROM_SHARE, _TO_SHARE = 0.4, 0.7


def ageing(oven: str, /, *, volts: float | None = None) -> int:
    """Compare the full-power heating times of an oven's runs: is its heater growing weak?

    Parameters
    ----------
    oven:
        The oven, by file or name.
    volts:
        The supply voltage measured now; a low supply heats slowly too.
    """
    from kilnctl.care.ageing import history
    from kilnctl.config.oven import find_oven

    chosen = find_oven(oven)
    from_c, to_c = _FROM_SHARE * chosen.limit_c, _TO_SHARE * chosen.limit_c
    with opened() as reader:
        found = history(reader, chosen.name, from_c, to_c)
    if len(found) < 2:
        refuse_unused("no two runs are there to compare", volts=volts)
        print(f"no two runs went from {from_c:.0f} to {to_c:.0f} C at full power: nothing to compare yet")
        return COMPLETE
    (first, before_s), (last, now_s) = found[0], found[-1]
    print(f"{from_c:.0f} to {to_c:.0f} C at full power: run {first} took {say_duration(before_s)}, ")
    print(f"  run {last} {say_duration(now_s)} ({(now_s / before_s - 1.0) * 100.0:+.0f} %)")
    print(f"  {_judged(chosen, first, before_s, now_s, from_c, to_c, volts)}")
    return COMPLETE


def _judged(
    oven: "Oven", first: int, before_s: float, now_s: float, from_c: float, to_c: float, volts: float | None
) -> str:
    from kilnctl.care.ageing import body_of, held_duty, judge, power_w

    with opened() as reader:
        held = held_duty(reader.curve(first))
    if held is None:
        refuse_unused("its first run held no temperature: it is judged by the times", volts=volts)
        return "its first run held no temperature: how much heat is lost is not known, judge by the times"
    if oven.supply_v is None:
        refuse_unused(f"the file of {oven.name} has no `supply` to set it beside", volts=volts)
    hold_c, duty = held
    body = body_of(oven.power_w, duty, hold_c, before_s, from_c, to_c, oven.ambient_c)
    return judge(power_w(body, now_s, from_c, to_c), oven.power_w, volts, oven.supply_v)
