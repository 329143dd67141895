"""What plan and dry run show of the heat ahead: the predicted curve in characters, arrivals with a band."""

from collections.abc import Container, Sequence
from pathlib import Path
from typing import Any

from kilnctl.config.oven import Oven
from kilnctl.config.preferences import units_shown
from kilnctl.errors import ConfigError
from kilnctl.forecast.band import POINTS, End, Forecast, ForecastPoint, predict
from kilnctl.model.maker_constants import first_guess
from kilnctl.model.oven_model import OvenModel
from kilnctl.profile.segments import Cool, Operator, Profile, Ramp
from kilnctl.report.charts.forecast_series import ForecastSeries
from kilnctl.treatment.planning import Plan
from kilnctl.units import f_from_c, say_duration, say_point

WIDTH, HEIGHT = 70, 12
CHART_KINDS = ("png", "svg", "pdf")
GUESSED = (
    "Drawn from the nameplate and what the oven's file says was measured: this oven has not been learned "
    "(`kilnctl tune`), so the curve has no band"
)
BRACKETS = (
    "The times in brackets hold for an oven that stores as little or as much heat as any of its build, or as "
    "its timed heat-up leaves open"
)
FITTED = "Band: six ovens drawn from what was learned, with 6 % more or less power from another day's supply"


def forecast_from_cold(
    profile: Profile, oven: Oven, model: OvenModel | None, planned_s: Sequence[float | None]
) -> Forecast:
    """Return the heat from a cold oven; `model` None for one that has not been learned."""
    return predict(profile, model or first_guess(oven), oven.ambient_c, oven.ambient_c, planned_s)


def basis(model: OvenModel | None, profile: Profile | None = None) -> str:
    """Say what a prediction rests on, and what of this profile the model has never seen."""
    if model is None:
        return GUESSED
    if profile is None:
        return FITTED
    cools = any(isinstance(segment, Cool) for segment in profile.segments)
    above = _unseen_above(model, profile)
    unseen = f"; {above}" if above else ""
    return FITTED + unseen + (_COOLS_UNSEEN if cools and model.cools is None else "")


def _unseen_above(model: OvenModel, profile: Profile) -> str:
    """Say above which temperature the learning heat has seen nothing; empty where the profile stays below."""
    seen_c = max((coast.at_c for coast in model.coasts), default=None)
    if seen_c is None or profile.peak_c <= seen_c + _HOTTER_K:
        return ""
    return f"above {say_point(seen_c)} the oven was not learned"


def screen_basis(model: OvenModel | None, profile: Profile | None = None) -> str:
    """Say what a prediction rests on, with the times in brackets that only a screen shows."""
    return basis(model, profile) + (f". {BRACKETS}" if model is None else "")


def arrival_lines(forecast: Forecast, profile: Profile) -> list[str]:
    """Return when each heating arrives and when all is done, each with its band."""
    ends = {end.segment: end for end in forecast.ends}
    said = []
    for index, segment in enumerate(profile.segments):
        if isinstance(segment, Ramp):
            what = f"{say_point(segment.to_c)} (step {index + 1})"
            said.append(_arrival(what, ends.get(index)))
    said.append(_arrival("everything done", ends.get(len(profile.segments) - 1)))
    if any(isinstance(segment, Operator) for segment in profile.segments):
        said.append("  a person at a step takes the time of the plan; a delay there shifts the rest")
    return said


# The kinds of steps as a person calls them, in the order in which a difference is told.
_KINDS = {"ramp": "heating", "soak": "soaks", "cool": "cooling", "operator": "waiting for a person"}
# Why a rehearsal takes another time: which oven it is. Its person takes the time of the plan.
_BY_NAMEPLATE = (
    "the forecast knows the nameplate only, the simulated oven stores and loses heat in its own way"
)
_BY_DRAW = (
    "the simulated oven is drawn within the uncertainty of what was learned, and is not built like the "
    "fitted model: its air, wall and shell cool each at their own pace"
)
# Furnaces of brick took 1.1 to 1.8 times the cooling that their heat-up foretold, a small oven 1.1 times.
_COOLS_UNSEEN = (
    "; cooling with the heat off is a guess from the heat-up, which hardly shows the wall: it may take more "
    "than twice as long, and the latest times say so (`kilnctl tune OVEN --cooling RUN` learns it)"
)
# A goal this little above what was seen is no other oven.
_HOTTER_K = 25.0
_COOL_GUESSED = "a cooling with the heat off was predicted from the heat-up alone"
_AGREE = 0.02
_TELL_S = 60.0


def apart_lines(
    forecast: Forecast, segments: Sequence[dict[str, Any]], model: OvenModel | None, profile: Profile
) -> list[str]:
    """Say where a rehearsal took another time than the forecast, and why; nothing where within 2 %.

    `segments` are those of the rehearsal's summary, all of them over.
    """
    ends_s = {end.segment: end.at_s for end in forecast.ends}
    apart_s = dict.fromkeys(_KINDS, 0.0)
    for s in segments:
        end_s = ends_s.get(s["index"])
        if end_s is None or s["ended_s"] is None:
            return []
        forecast_s = end_s - ends_s.get(s["index"] - 1, 0.0)
        apart_s[s["kind"]] += s["ended_s"] - s["started_s"] - forecast_s
    whole_s = sum(apart_s.values())
    if not segments or abs(whole_s) <= _AGREE * ends_s[segments[-1]["index"]]:
        return []
    least_s = min(_TELL_S, max(map(abs, apart_s.values())))
    told = {
        kind: f"{name} {say_duration(abs(apart_s[kind]))} {'longer' if apart_s[kind] > 0 else 'shorter'}"
        for kind, name in _KINDS.items()
        if abs(apart_s[kind]) >= least_s
    }
    why = _BY_NAMEPLATE if model is None or not model.learned else _why_apart(model, profile, told)
    return [f"against the forecast: {', '.join(told.values())}; {why}"]


def _why_apart(model: OvenModel, profile: Profile, told: Container[str]) -> str:
    """Return why a rehearsal on a learned oven differs: first what of this heat was never seen."""
    heated = _unseen_above(model, profile) if "ramp" in told else ""
    cooled = _COOL_GUESSED if "cool" in told and model.cools is None else ""
    return "; ".join(filter(None, (heated, cooled, _BY_DRAW)))


def _arrival(what: str, end: End | None) -> str:
    if end is None:
        return f"  {what}: not within four days"
    late = "never, perhaps" if end.late_s is None else say_duration(end.late_s)
    return f"  {what}: after {say_duration(end.at_s)} ({say_duration(end.early_s)} to {late})"


def as_data(forecast: Forecast, model: OvenModel | None) -> dict[str, Any]:
    """Return a prediction as plain data."""
    points = forecast.points[:: max(1, len(forecast.points) // POINTS)]
    return {
        "learned": model is not None,
        "basis": basis(model),
        "points": [[p.at_s, round(p.low_c, 1), round(p.process_c, 1), round(p.high_c, 1)] for p in points],
        "ends": [[e.segment, e.at_s, e.early_s, e.late_s] for e in forecast.ends],
    }


def curve_lines(points: Sequence[ForecastPoint]) -> list[str]:
    """Return the curve in characters, a cell `o` where the middle runs and `:` where the band does."""
    top_c, fahrenheit = max(p.high_c for p in points), units_shown() == "F"
    step_c = next((s for s in (10.0, 20.0, 25.0, 50.0, 75.0) if s * HEIGHT >= top_c), 100.0)
    end_s = points[-1].at_s or 1.0
    columns = [_cell(points, i * end_s / WIDTH, (i + 1) * end_s / WIDTH) for i in range(WIDTH)]
    lines = []
    for row in range(int(top_c // step_c), -1, -1):
        low_c, high_c = row * step_c, (row + 1) * step_c
        cells = "".join(_mark(column, low_c, high_c) for column in columns)
        lines.append(f"{f_from_c(low_c) if fahrenheit else low_c:5.0f} |{cells.rstrip()}")
    hours = end_s / 3600.0
    scale = f"{hours / 2:.1f} h".center(WIDTH - 8)
    return [
        "   °F" if fahrenheit else "   °C",
        *lines,
        "      +" + "-" * WIDTH,
        f"       0{scale}{hours:.1f} h",
    ]


def _cell(points: Sequence[ForecastPoint], from_s: float, to_s: float) -> tuple[float, float, float, float]:
    """Return lowest and highest of the middle, and of the band, in a stretch of time."""
    inside = [p for p in points if from_s <= p.at_s < to_s] or [
        min(points, key=lambda p: abs(p.at_s - from_s))
    ]
    return (
        min(p.process_c for p in inside),
        max(p.process_c for p in inside),
        min(p.low_c for p in inside),
        max(p.high_c for p in inside),
    )


def _mark(column: tuple[float, float, float, float], low_c: float, high_c: float) -> str:
    middle_low, middle_high, low, high = column
    if middle_low < high_c and middle_high >= low_c:
        return "o"
    return ":" if low < high_c and high >= low_c else " "


def as_series(forecast: Forecast, model: OvenModel | None) -> ForecastSeries:
    """Return a prediction for a chart."""
    points = [(p.at_s, p.low_c, p.process_c, p.high_c) for p in forecast.points]
    return ForecastSeries(points, [(e.at_s, e.early_s, e.late_s) for e in forecast.ends], basis(model))


def write_plan_chart(forecast: Forecast, model: OvenModel | None, made: Plan, path: Path) -> None:
    """Draw a plan's curve into a file. Raises ConfigError for another ending or a file not to be written."""
    from kilnctl.report.charts.plan_chart import write_forecast

    kind, title = chart_kind(path), f"plan: {made.profile.name}, {made.oven} (nothing was heated)"
    try:
        write_forecast(as_series(forecast, model), title, path, kind)
    except OSError as e:
        raise ConfigError(f"{path}: cannot be written: {e.strerror}") from None


def chart_kind(path: Path) -> str:
    """Return the kind of a chart file from its ending. Raises ConfigError for another one."""
    kind = path.suffix.lstrip(".").lower()
    if kind not in CHART_KINDS:
        raise ConfigError(f"{path}: a chart is written as .png, .svg or .pdf")
    return kind
