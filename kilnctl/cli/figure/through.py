"""How long until the part is as hot as the oven: figure through."""

from typing import Literal

from kilnctl.cli.figure.figure_answer import FigureAnswer, say_difference, say_times, show
from kilnctl.cli.figure.inputs import Quantity, heat_c, size_mm
from kilnctl.cli.terminal.options import Flag, Json
from kilnctl.errors import ConfigError, UnitError
from kilnctl.units import parse_difference_k, parse_rate_c_per_h, say_duration, say_mm, say_point


def through(
    thickness: Quantity,
    temperature: Quantity,
    /,
    *,
    shape: Literal["plate", "square", "round"] = "plate",
    surface: Literal["bare", "bright", "coated", "foil"] = "bare",
    within: Quantity = "5 K",
    start: Quantity = "20 C",
    rate: Quantity | None = None,
    fan: Flag = False,
    on_hearth: Flag = False,
    as_json: Json = False,
) -> int:
    """Estimate how long a part takes to come within a few kelvin of the oven.

    Parameters
    ----------
    thickness
        Thickness of a plate, side of a square, diameter of a round ("6 mm").
    temperature
        The oven's temperature.
    shape
        plate, square or round; long beside its thickness.
    surface
        bare (dark with scale), bright (ground), coated, or foil.
    within
        How near it must be ("5 K", "9 F").
    start
        The part's temperature at the start.
    rate
        The oven starts with the part and climbs so ("300 C/h"); left out, it is hot already.
    fan
        The oven has a fan.
    on_hearth
        It lies flat on the hearth: that face takes no heat.
    as_json
        Print one JSON object.
    """
    from kilnctl.model.steel_heat import heat_content_j_per_kg
    from kilnctl.treatment.steel.through_heating import ESTIMATE, bar, within_s

    oven_c, part_c, near_k = heat_c(temperature), heat_c(start), parse_difference_k(within)
    if not 0.1 <= near_k < oven_c - part_c:
        raise UnitError(
            f"--within {within} must be 0.1 K or more, and less than the way "
            f"from {part_c:.0f} to {oven_c:.0f} C"
        )
    model = bar(shape, size_mm(thickness), surface, fan, on_hearth, oven_c)
    rate_c_per_h = None if rate is None else parse_rate_c_per_h(rate)
    if rate_c_per_h is not None and rate_c_per_h <= 0.0:
        raise ConfigError("--rate must be a heating rate, above zero")
    found_s = within_s(model, oven_c, near_k, part_c, None if rate_c_per_h is None else rate_c_per_h / 3600.0)
    climb_s = 0.0 if rate_c_per_h is None else (oven_c - part_c) / rate_c_per_h * 3600.0
    late_s = max(0.0, found_s - climb_s)
    rows = [("after", say_times(found_s, found_s))]
    if climb_s:
        rows.append(
            ("the oven arrives", f"after {say_duration(climb_s)}; the part {say_duration(late_s)} later")
        )
    low_s, high_s = found_s - late_s * ESTIMATE, found_s + late_s * ESTIMATE
    rows.append(("range", say_times(low_s, high_s)))
    taken_j = heat_content_j_per_kg(oven_c) - heat_content_j_per_kg(part_c)
    rows.append(("takes up", f"{taken_j / 1000:.0f} kJ a kilogram ({taken_j / 3.6e6:.3f} kWh)"))
    laid = ", flat on the hearth" if on_hearth else ", free on all sides"
    return show(
        FigureAnswer(
            asked=(
                f"{shape} of {say_mm(size_mm(thickness))}, {surface}{', fan' if fan else ''}{laid}, "
                f"from {say_point(part_c)} to within {say_difference(near_k)} of {say_point(oven_c)}:"
            ),
            rows=tuple(rows),
            source="radiation and film; heat content of carbon steel EN 1993-1-2:2005, 3.4.1",
            assumed="typical emissivity and air, good to a fifth; a full load takes longer",
            data={
                "after_s": found_s,
                "low_s": low_s,
                "high_s": high_s,
                "after_oven_s": late_s,
                "takes_up_j_per_kg": taken_j,
            },
        ),
        as_json,
    )
