"""Current, resistance, power at another supply, energy and cost of a heater: figure power."""

import re

from kilnctl.cli.figure.figure_answer import FigureAnswer, show
from kilnctl.cli.figure.inputs import Quantity, at_least, share, time_s
from kilnctl.cli.terminal.options import Json
from kilnctl.errors import ConfigError
from kilnctl.units import parse_power_w, parse_voltage_v, say_duration

# A load of three hours and more: the circuit is rated a quarter above it.
CONTINUOUS = 1.25
CIRCUITS_A = (10, 13, 16, 20, 32)  # fuses, plugs and breakers that are about
# Plates are good to 5 or 10 %, and iron-chromium wire has 4 to 5 % more hot than cold (from memory).
OHMS_NEAR = 0.1
_LEG = re.compile(r"\s*(\d.*?)\s*at\s*(\d+(?:\.\d+)?)\s*%?\s*")
_AMPERES = re.compile(r"\s*(\d+(?:\.\d+)?)\s*A\s*")
DEAD = (
    "measure only with the plug out and proved dead, both ends of the element off, and touch no metal tip; a "
    "meter on ohms across a live wire burns in the hand"
)
# Supplies are within 10 % of their name (IEC 60038, from memory); at twice its volts a heater gives four
# times its power, not for long.
HIGH_SUPPLY, MOST_SUPPLY = 1.1, 2.0


def power(
    rated: Quantity,
    supply: Quantity,
    /,
    *,
    measured: Quantity | None = None,
    ohms: float | None = None,
    time: Quantity | None = None,
    duty: float = 100.0,
    then: list[str] | None = None,
    price: float | None = None,
    beside: list[str] | None = None,
    as_json: Json = False,
) -> int:
    """Say what a heater draws, which circuit bears it, its power at another supply, what an evening costs.

    Parameters
    ----------
    rated
        Its power on the plate ("2400 W"), or its current ("10.4 A").
    supply
        The supply on the plate ("230 V").
    measured
        The supply as measured.
    ohms
        Its resistance as a meter reads it, cold, dead and unplugged.
    time
        How long it runs.
    duty
        How much of that time it is on, per cent.
    then
        A further time and duty: "40 min at 30"; may be given several times.
    price
        Price of a kilowatt-hour, with --time.
    beside
        What else draws from the same circuit: its power or current; may be given several times.
    as_json
        Print one JSON object.
    """
    plate_v = parse_voltage_v(supply)
    rated_w = _rated_w(rated, plate_v)
    real_v = plate_v if measured is None else parse_voltage_v(measured)
    if min(rated_w, plate_v, real_v) <= 0.0:
        raise ConfigError("power and supply must be more than zero")
    if real_v > MOST_SUPPLY * plate_v:
        raise ConfigError(f"a heater for {plate_v:g} V burns out at {real_v:g} V: never connect it to that")
    ohm = plate_v**2 / rated_w
    real_w = real_v**2 / ohm
    data: dict[str, object] = {"power_w": real_w, "current_a": real_v / ohm, "resistance_ohm": ohm}
    rows = [
        ("power", f"{real_w:.0f} W at {real_v:g} V, {100 * real_w / rated_w:.0f} % of the plate"),
        ("current", f"{real_v / ohm:.1f} A"),
        ("circuit", f"{CONTINUOUS * real_v / ohm:.0f} A or more, for hours of full power"),
        ("resistance", f"{ohm:.1f} ohm hot"),
    ]
    besides_a = [real_v / (plate_v**2 / _rated_w(text, plate_v)) for text in beside or []]
    if besides_a:
        together_a = real_v / ohm + sum(besides_a)
        data["together_a"] = together_a
        rows.append(("together", f"{together_a:.1f} A, {together_a * real_v:.0f} W, all on at once"))
    rows.append(("bears it", _circuits(real_v / ohm + sum(besides_a))))
    if ohms is not None:
        rows.append(("it reads", _as_read(at_least(ohms, 0.05, "--ohms"), ohm)))
        data["read_share"] = ohm / ohms
    if (price is not None or duty != 100.0 or then) and time is None:
        raise ConfigError("energy and cost need a --time")
    if time is not None:
        legs = [(time_s(time), share(duty, "--duty")), *map(_leg, then or [])]
        whole_s, on_s = sum(s for s, _ in legs), sum(s * on for s, on in legs)
        kwh = real_w * on_s / 3.6e6
        data["kwh"] = kwh
        on = 100.0 * on_s / whole_s
        rows.append(("energy", f"{kwh:.2f} kWh in {say_duration(whole_s)}, on for {on:.3g} % of it"))
        if price is not None:
            data["cost"] = kwh * at_least(price, 0.0, "--price")
            rows.append(("cost", f"{data['cost']:.2f} at {price:g} a kilowatt-hour"))
    return show(
        FigureAnswer(
            asked=f"a heater of {rated} at {supply}:",
            rows=tuple(rows),
            source="Ohm's law: power goes with the square of the supply; 1.25 x: NFPA 70, from memory",
            assumed="a resistive heater, hot. The local code decides; mains work is for licensed people",
            data=data,
            beware=_too_high(plate_v, real_v) + ((DEAD,) if ohms is not None else ()),
        ),
        as_json,
    )


def _circuits(drawn_a: float) -> str:
    """Return which of the usual circuits bear a current for hours, for a short time, or not at all."""

    def bears(rated_a: int) -> str:
        if round(CONTINUOUS * drawn_a) <= rated_a:
            return "yes"
        return "not for hours" if drawn_a <= rated_a else "NO"

    return "; ".join(f"{rated_a} A {bears(rated_a)}" for rated_a in CIRCUITS_A)


def _rated_w(text: str, plate_v: float) -> float:
    amperes = _AMPERES.fullmatch(text)
    return parse_power_w(text) if amperes is None else float(amperes[1]) * plate_v


def _leg(text: str) -> tuple[float, float]:
    """Read "40 min at 30" as a time in s and a share. Raises ConfigError for anything else."""
    found = _LEG.fullmatch(text)
    if found is None:
        raise ConfigError(f'cannot read "{text}" as a time and a duty; write it like "40 min at 30"')
    return time_s(found[1]), share(float(found[2]), "--then")


def _as_read(read_ohm: float, plate_ohm: float) -> str:
    """Return what a measured resistance says of a heater, beside that of its plate."""
    share = plate_ohm / read_ohm
    gives = f"{read_ohm:g} ohm gives {100 * share:.0f} % of the plate's power: "
    if share > 1.0 + OHMS_NEAR:
        return (
            gives + "MORE than the plate: part of it is bridged, or it is another element; do not switch on"
        )
    if share < 1.0 - OHMS_NEAR:
        return gives + "worn thin, a loose or burnt joint, or one of several strands is broken"
    return gives + "as its plate says, within what a meter, cold wire and the plate allow"


def _too_high(plate_v: float, real_v: float) -> tuple[str, ...]:
    if real_v <= HIGH_SUPPLY * plate_v:
        return ()
    return (
        f"{real_v:g} V is more than its {plate_v:g} V bear: it burns out, and wires and relay are too small",
    )
