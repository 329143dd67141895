"""What a measured cooling was: figure cooling."""

from kilnctl.cli.figure.figure_answer import FigureAnswer, show
from kilnctl.cli.figure.inputs import Quantity, heat_c, time_s
from kilnctl.cli.terminal.options import Json
from kilnctl.errors import UnitError
from kilnctl.units import say_duration, say_point


def cooling(
    time: Quantity, /, *, steel: str | None = None, start: Quantity = "870 C", as_json: Json = False
) -> int:
    """Name a cooling by the time it took from 700 to 500 °C.

    Parameters
    ----------
    time
        How long it took from 700 to 500 °C (1292 to 932 °F).
    steel
        A grade.
    start
        The heat it cooled from.
    as_json
        Print one JSON object.
    """
    from kilnctl.treatment.steel.cooling_names import FROM_C, TO_C, name_any_cooling
    from kilnctl.treatment.steel.steels import load_steel

    took_s, from_c = time_s(time), heat_c(start)
    if from_c < FROM_C:
        raise UnitError(
            f"--start {from_c:.0f} C lies below {FROM_C:.0f} C: nothing transforms in such a cooling"
        )
    rate_c_per_s = (FROM_C - TO_C) / took_s
    card = None if steel is None else load_steel(steel)
    named = name_any_cooling(rate_c_per_s, card, from_c)
    return show(
        FigureAnswer(
            asked=f"700 to 500 °C in {say_duration(took_s)}, from {say_point(from_c)}:",
            rows=(("name", named.name), ("rate", say_rate(rate_c_per_s))),
            source=(
                "plate in still air (computed); full anneal 28 °C/h of the cards; martensite of eutectoid "
                "steel from 140 °C/s, none below 35 (Callister's continuous cooling curve, from memory)"
            ),
            assumed="the part's own temperature was measured" + ("" if card else "; a carbon steel"),
            data={"name": named.name, "rate_c_per_s": rate_c_per_s},
            beware=(named.warning,) if named.warning else (),
        ),
        as_json,
    )


def say_rate(rate_c_per_s: float) -> str:
    """Return a cooling rate in the unit that fits it, in both scales."""
    if rate_c_per_s >= 1.0:
        return f"{rate_c_per_s:.3g} K/s ({rate_c_per_s * 1.8:.3g} °F/s)"
    return f"{rate_c_per_s * 3600:.0f} K/h ({rate_c_per_s * 6480:.0f} °F/h)"
