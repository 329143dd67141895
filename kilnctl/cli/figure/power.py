"""Current, resistance, power at another supply, energy and cost of a heater: figure power."""

from kilnctl.cli.figure.figure_answer import FigureAnswer, show
from kilnctl.cli.figure.inputs import Quantity, at_least, share, time_s
from kilnctl.cli.terminal.options import Json
from kilnctl.errors import ConfigError
from kilnctl.units import parse_power_w, parse_voltage_v, say_duration

# A load of three hours and more: the circuit is rated a quarter above it.
CONTINUOUS = 1.25
# Supplies are within 10 % of their name (IEC 60038, from memory); at twice its volts a heater gives four
# times its power, not for long.
HIGH_SUPPLY, MOST_SUPPLY = 1.1, 2.0


def power(
    rated: Quantity,
    supply: Quantity,
    /,
    *,
    measured: Quantity | None = None,
    time: Quantity | None = None,
    duty: float = 100.0,
    price: float | None = None,
    as_json: Json = False,
) -> int:
    """Say what a heater draws, what it gives at another supply, and what it costs.

    Parameters
    ----------
    rated
        Its power on the plate ("2400 W").
    supply
        The supply on the plate ("230 V").
    measured
        The supply as measured.
    time
        How long it runs.
    duty
        How much of that time it is on, per cent.
    price
        Price of a kilowatt-hour, with --time.
    as_json
        Print one JSON object.
    """
    rated_w, plate_v = parse_power_w(rated), parse_voltage_v(supply)
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
    if (price is not None or duty != 100.0) and time is None:
        raise ConfigError("energy and cost need a --time")
    if time is not None:
        kwh = real_w * time_s(time) * share(duty, "--duty") / 3.6e6
        data["kwh"] = kwh
        rows.append(("energy", f"{kwh:.2f} kWh in {say_duration(time_s(time))}, on for {duty:g} % of it"))
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
            beware=_too_high(plate_v, real_v),
        ),
        as_json,
    )


def _too_high(plate_v: float, real_v: float) -> tuple[str, ...]:
    if real_v <= HIGH_SUPPLY * plate_v:
        return ()
    return (
        f"{real_v:g} V is more than its {plate_v:g} V bear: it burns out, and wires and relay are too small",
    )
