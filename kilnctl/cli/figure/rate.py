"""Heating and cooling rates in other units, and how long a ramp takes: figure rate."""

from typing import Annotated

from cyclopts import Parameter

from kilnctl.cli.figure.figure_answer import FigureAnswer, show
from kilnctl.cli.figure.inputs import Quantity, heat_c, time_s
from kilnctl.cli.terminal.options import Json
from kilnctl.errors import ConfigError
from kilnctl.units import parse_rate_c_per_h, say_duration, say_point

FASTEST_C_PER_H = 1e6


def rate(
    rate: Quantity | None = None,
    /,
    *,
    start: Annotated[Quantity | None, Parameter(name="--from")] = None,
    to: Quantity | None = None,
    time: Quantity | None = None,
    as_json: Json = False,
) -> int:
    """Convert a heating or cooling rate, say how long a ramp takes, or which rate a time asks for.

    Parameters
    ----------
    rate
        The rate ("400 F/h", "3.7 C/min"); left out, it is worked out from --time.
    start
        Where the ramp begins ("20 C").
    to
        Where it ends.
    time
        How long it may take, in place of the rate.
    as_json
        Print one JSON object.
    """
    if (rate is None) == (time is None):
        raise ConfigError('give a rate ("400 F/h"), or --from, --to and --time: the rate is worked out then')
    if (start is None) != (to is None):
        raise ConfigError("a ramp has two ends: give both --from and --to")
    way_k = None if start is None or to is None else heat_c(to) - heat_c(start)
    if way_k == 0.0:
        raise ConfigError("--from and --to are the same temperature: that is no ramp")
    c_per_h = _asked(rate) if rate is not None else _needed(way_k, time)
    rows = [
        ("an hour", f"{c_per_h:.1f} °C/h = {c_per_h * 1.8:.1f} °F/h"),
        ("a minute", f"{c_per_h / 60:.2f} °C/min = {c_per_h * 0.03:.2f} °F/min"),
    ]
    data: dict[str, object] = {"c_per_h": c_per_h, "f_per_h": c_per_h * 1.8}
    if way_k is not None and start is not None and to is not None:
        takes_s = abs(way_k) / c_per_h * 3600.0
        ends = f"from {say_point(heat_c(start))} to {say_point(heat_c(to))}"
        rows.append(("takes", f"{say_duration(takes_s)} {ends}"))
        data["takes_s"] = takes_s
    return show(
        FigureAnswer(
            asked=f"{rate if rate is not None else f'{abs(way_k or 0.0):.0f} K in {time}'}:",
            rows=tuple(rows),
            source="a degree C, or a kelvin, is 1.8 degrees F: a rate has no 32 to add",
            assumed="the oven can follow: `kilnctl figure oven NAME TEMPERATURE` says how fast it is",
            data=data,
        ),
        as_json,
    )


def _asked(text: str) -> float:
    c_per_h = abs(parse_rate_c_per_h(text))
    if not 0.0 < c_per_h <= FASTEST_C_PER_H:
        raise ConfigError(f'"{text}" is no rate of an oven')
    return c_per_h


def _needed(way_k: float | None, time: str | None) -> float:
    if way_k is None or time is None:
        raise ConfigError("--time needs --from and --to")
    return abs(way_k) / time_s(time) * 3600.0
