"""The dose of a curve written down, or of a part of a run in the logbook: figure dose."""

from typing import TYPE_CHECKING, Annotated

from cyclopts import Parameter

from kilnctl.cli.figure.equal import SOURCE, dose_data, dose_rows, secondary
from kilnctl.cli.figure.figure_answer import FigureAnswer, show
from kilnctl.cli.figure.inputs import Quantity, maybe_metal, temper_c
from kilnctl.cli.terminal.options import Json, refuse_unused
from kilnctl.errors import ConfigError
from kilnctl.units import parse_duration_s, say_duration, say_point

if TYPE_CHECKING:
    from kilnctl.treatment.steel.temper.curve_dose import Point


def dose(
    *points: str,
    temperature: Annotated[str, Parameter(name="--as")],
    steel: str | None = None,
    carbon: float | None = None,
    run: int | None = None,
    since: Quantity | None = None,
    until: Quantity | None = None,
    as_json: Json = False,
) -> int:
    """Work out how much a temperature curve tempers, as time at one temperature.

    Parameters
    ----------
    points
        The curve: "0 min = 20 C" "40 min = 205 C" "2h 40min = 205 C".
    temperature
        Count it as time at this temperature.
    steel
        A grade.
    carbon
        Its carbon in per cent, where there is no card.
    run
        Take the curve of this run of the logbook instead.
    since
        From when in the run ("1h 10min"); left out, its start.
    until
        Until when; left out, its end.
    as_json
        Print one JSON object.
    """
    from kilnctl.treatment.steel.temper.curve_dose import curve_dose_s
    from kilnctl.treatment.steel.temper.dose import constants

    as_at_c = temper_c(temperature)
    card, percent, words = maybe_metal(steel, carbon)
    curve, where = _written(points, since, until) if run is None else _of_run(points, run, since, until)
    found = {name: curve_dose_s(curve, as_at_c, c) for name, c in constants(percent).items()}
    span_s, top_c = curve[-1][0] - curve[0][0], max(c for _, c in curve)
    return show(
        FigureAnswer(
            asked=f"{where}{words and ', '}{words}, tempers as much as:",
            rows=(
                *dose_rows(as_at_c, found, percent),
                ("curve", f"{say_duration(span_s)}, highest {say_point(top_c)}"),
            ),
            source=f"{SOURCE}; steps added at equal parameter",
            assumed="the part has the temperatures of the curve, straight between points",
            data={**dose_data(found), "curve_s": span_s, "highest_c": top_c},
            beware=secondary(card, max(top_c, as_at_c)),
        ),
        as_json,
    )


def _written(points: tuple[str, ...], since: str | None, until: str | None) -> "tuple[list[Point], str]":
    refuse_unused("a written curve is taken whole", since=since, until=until)
    if len(points) < 2:
        raise ConfigError(
            'write the curve as points, like: "0 min = 20 C" "40 min = 205 C"; or give --run 12'
        )
    return [_point(text) for text in points], "the written curve"


def _point(text: str) -> "Point":
    at, _, temperature = text.partition("=")
    if not temperature:
        raise ConfigError(f'cannot read "{text}" as a point of a curve; write it like "40 min = 205 C"')
    return parse_duration_s(at.strip()), temper_c(temperature.strip())


def _of_run(
    points: tuple[str, ...], run: int, since: str | None, until: str | None
) -> "tuple[list[Point], str]":
    import numpy as np

    from kilnctl.cli.record.open_logbook import opened

    refuse_unused("either a run or a written curve", POINTS=" ".join(points))
    with opened() as reader:
        reader.run(run)  # which says so where there is none
        curve = reader.curve(run)
    at_s, part_c = curve.column("elapsed_s"), curve.column("part_c")
    known = not bool(np.all(np.isnan(part_c)))
    shown_c = part_c if known else curve.column("process_c")
    from_s = 0.0 if since is None else parse_duration_s(since)
    to_s = curve.duration_s if until is None else parse_duration_s(until)
    keep = ~np.isnan(shown_c) & (at_s >= from_s) & (at_s <= to_s)
    keep[1:] &= np.diff(at_s) > 0.0
    if np.count_nonzero(keep) < 2:
        raise ConfigError(
            f"run {run} has no temperatures between {say_duration(from_s)} and {say_duration(to_s)}"
        )
    said = "part as modelled" if known else "as the oven's sensor read"
    words = f"run {run} from {say_duration(from_s)} to {say_duration(to_s)} ({said})"
    return list(zip(at_s[keep].tolist(), shown_c[keep].tolist(), strict=True)), words
