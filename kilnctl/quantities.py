"""Quantities as fields of the files that people edit: what `units` reads, for pydantic.

Apart from `units`, so that a command which only prints a temperature does not load pydantic.
"""

from collections.abc import Callable
from typing import Annotated, Any

from pydantic import AfterValidator, BeforeValidator, Field
from pydantic_core import PydanticCustomError

from kilnctl.errors import UnitError
from kilnctl.units import (
    parse_difference_k,
    parse_duration_s,
    parse_length_mm,
    parse_mass_kg,
    parse_point_c,
    parse_power_w,
    parse_rate_c_per_h,
    parse_voltage_v,
)


class Reckoned(float):
    """A number that no person wrote, reckoned or sent by a process: in the field's own unit and bounds."""


def _edge(parse: Callable[[object], float]) -> BeforeValidator:
    def read(value: Any) -> Any:
        if isinstance(value, Reckoned):
            return float(value)
        try:
            return parse(value)
        except UnitError as e:
            raise PydanticCustomError("unit", "{why}", {"why": str(e)}) from None

    return BeforeValidator(read)


def between(low: float, high: float, words: str) -> AfterValidator:
    """Return a bound for a field; `words` are the two ends as people write them: "1 s and 48 h"."""

    def check(value: float) -> float:
        if not low <= value <= high:
            raise PydanticCustomError("range", "{why}", {"why": f"must lie between {words}"})
        return value

    return AfterValidator(check)


PointC = Annotated[float, _edge(parse_point_c), Field(allow_inf_nan=False)]
DifferenceK = Annotated[float, _edge(parse_difference_k), Field(allow_inf_nan=False)]
RateCPerH = Annotated[float, _edge(parse_rate_c_per_h), Field(allow_inf_nan=False)]
DurationS = Annotated[float, _edge(parse_duration_s), Field(allow_inf_nan=False, ge=0)]
PowerW = Annotated[float, _edge(parse_power_w), Field(allow_inf_nan=False, gt=0)]
LengthMm = Annotated[float, _edge(parse_length_mm), Field(allow_inf_nan=False, gt=0)]
MassKg = Annotated[float, _edge(parse_mass_kg), Field(allow_inf_nan=False, gt=0)]
VoltageV = Annotated[float, _edge(parse_voltage_v), Field(allow_inf_nan=False, gt=0)]
