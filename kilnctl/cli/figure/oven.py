"""How long this oven heats and cools, what holding costs: figure oven."""

from typing import TYPE_CHECKING

from kilnctl.cli.figure.figure_answer import FigureAnswer, say_times, show
from kilnctl.cli.figure.inputs import Quantity, at_least, heat_c, time_s
from kilnctl.cli.terminal.options import Json
from kilnctl.errors import UnitError
from kilnctl.units import parse_mass_kg, say_duration, say_point, say_rate

if TYPE_CHECKING:
    from kilnctl.config.oven import Oven

# What a learned oven and one known by its build alone are good to.
LEARNED, MEASURED, TYPICAL = 0.1, 0.2, 2.0
LAST_K = 20.0
MOST_KG = 100.0
LEAST_LEFT = 0.1


def oven(
    name: str,
    temperature: Quantity,
    /,
    *,
    start: Quantity | None = None,
    down_to: Quantity = "60 C",
    hold: Quantity = "1h",
    load: Quantity | None = None,
    price: float | None = None,
    as_json: Json = False,
) -> int:
    """Say how long this oven takes to heat and to cool, what holding needs, and what that costs.

    Parameters
    ----------
    name
        The oven, by file or name.
    temperature
        The temperature to reach.
    start
        From which temperature; left out, the room's.
    down_to
        Cool down to this, heat off, door shut.
    hold
        How long it is held.
    load
        What the parts weigh together ("4 lb"); left out, the oven is empty.
    price
        Price of a kilowatt-hour.
    as_json
        Print one JSON object.
    """
    from kilnctl.cli.plan.plan_timing import learned_model
    from kilnctl.config.oven import find_oven
    from kilnctl.model.maker_constants import first_guess
    from kilnctl.model.oven_model import holding_duty
    from kilnctl.treatment.oven_times import full_power_s, shut_s

    chosen, at_c, low_c, hold_s = find_oven(name), heat_c(temperature), heat_c(down_to), time_s(hold)
    room_c = chosen.ambient_c
    from_c = room_c if start is None else heat_c(start)
    _check(chosen, from_c, at_c, low_c)
    known = learned_model(chosen)
    model = known or first_guess(chosen)
    up_s = full_power_s(model, from_c, at_c, room_c)
    down_s = shut_s(model, at_c, low_c, room_c)
    duty = min(1.0, holding_duty(model, at_c, room_c))
    up_kwh, hold_kwh = (chosen.power_w * s / 3.6e6 for s in (up_s, duty * hold_s))
    (low, high), (slow, long) = _spans(chosen, bool(known))
    last_s = full_power_s(model, max(from_c, at_c - LAST_K), at_c, room_c)
    climb = say_rate(min(LAST_K, at_c - from_c) / last_s * 3600.0)
    rows = [
        ("up", f"{say_duration(up_s)} at full power ({say_times(up_s * low, up_s * high)})"),
        (
            "down",
            f"{say_duration(down_s)} shut, to {say_point(low_c)} ({say_times(down_s * slow, down_s * long)})",
        ),
        ("steepest", f"a ramp of {climb} near that heat"),
        ("hold", f"{100 * duty:.0f} % of {chosen.power_w:.0f} W once soaked through; more before"),
        ("energy", f"{up_kwh:.1f} kWh up, {hold_kwh:.1f} kWh for {say_duration(hold_s)} of holding"),
    ]
    data: dict[str, object] = {"up_s": up_s, "down_s": down_s, "hold_duty": duty, "kwh": up_kwh + hold_kwh}
    if load is not None:
        rows.append(_with_a_load(load, chosen.power_w, (from_c, at_c), duty, data))
    if price is not None:
        data["cost"] = (up_kwh + hold_kwh) * at_least(price, 0.0, "--price")
        rows.append(("cost", f"{data['cost']:.2f} at {price:g} a kilowatt-hour"))
    job_c = chosen.highest_goal_c
    beware = (f"a job may go to {say_point(job_c)} at most in this oven",) if at_c > job_c else ()
    source, good = _source(chosen, bool(known))
    return show(
        FigureAnswer(
            asked=f"{chosen.name} from {say_point(from_c)} to {say_point(at_c)}{', empty' * (load is None)}:",
            rows=tuple(rows),
            source=source,
            assumed=f"full power of the oven file, usual mains; {good}",
            data=data,
            beware=beware,
        ),
        as_json,
    )


def _with_a_load(
    load: str, power_w: float, span_c: tuple[float, float], duty: float, data: dict[str, object]
) -> tuple[str, str]:
    """Return what parts of steel add to heating up: from all the power, to what is left of it at the heat."""
    from kilnctl.model.steel_heat import heat_content_j_per_kg

    kg = parse_mass_kg(load)
    if not 0.0 < kg <= MOST_KG:
        raise UnitError(f'"{load}" is no load of this oven: up to {MOST_KG:.0f} kg')
    joule = kg * (heat_content_j_per_kg(span_c[1]) - heat_content_j_per_kg(span_c[0]))
    quick_s, slow_s = joule / power_w, joule / (power_w * max(1.0 - duty, LEAST_LEFT))
    data |= {"load_kwh": joule / 3.6e6, "load_s": quick_s}
    later = f"{say_times(quick_s, slow_s)} longer, and the parts lag behind the oven: `figure through`"
    return "the load", f"takes {joule / 3.6e6:.2f} kWh more: {later}"


def _source(oven: "Oven", learned: bool) -> tuple[str, str]:
    """Return what the times rest on, and how good that is."""
    if learned:
        return "learned on this oven", "within a tenth"
    if oven.measured is not None:
        return (
            "as its file says it was measured; not learned yet",
            "a fifth where measured, else a factor of two",
        )
    return f"typical of its build ({oven.build}); not learned yet", "to a factor of two"


def _spans(oven: "Oven", learned: bool) -> tuple[tuple[float, float], tuple[float, float]]:
    """Return the factors between which the times lie: of heating up, and of cooling down."""
    from kilnctl.model.maker_constants import is_timed

    told = None if learned else oven.measured
    up, down = (False, False) if told is None else (is_timed(oven), told.holds_with_w is not None)
    return _good_to(learned, up), _good_to(learned, down)


def _good_to(learned: bool, measured: bool) -> tuple[float, float]:
    """Return the factors between which a time lies."""
    if not (learned or measured):
        return 1 / TYPICAL, TYPICAL
    share = LEARNED if learned else MEASURED
    return 1 - share, 1 + share


def _check(oven: "Oven", from_c: float, at_c: float, low_c: float) -> None:
    """Raise UnitError for temperatures that this oven cannot go through, up from one and down to another."""
    room_c = oven.ambient_c
    if not room_c <= from_c < at_c <= oven.limit_c or not room_c + 5.0 <= low_c < at_c:
        raise UnitError(
            f"{at_c:.0f} C must lie above the start ({from_c:.0f} C) and --down-to ({low_c:.0f} C, 5 K over "
            f"the room's {room_c:.0f} C), and within the oven's limit of {oven.limit_c:.0f} C"
        )
