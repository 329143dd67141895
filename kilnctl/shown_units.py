"""Texts for people in the units that they chose: °F and inches alone, °C and mm alone, or both."""

import re
from typing import Literal

from kilnctl.units import f_from_c

Shown = Literal["both", "C", "F"]
_NUMBER = r"-?\d+(?:\.\d+)?"
_SPAN = rf"(?:{_NUMBER}(?:-| to | and ))?{_NUMBER}"
_PER = r"(?:/h|/s|/min)?"
# Pairs as our pages write them: "205 °C (401 °F)", "204 °C/399 °F", "5.0 K (9.0 °F)", "6 mm (0.236 in)".
_PAIR = re.compile(rf"(?P<c>{_SPAN} (?:°C|K){_PER})(?: \((?P<f>{_SPAN} °F{_PER})\)|/(?P<g>{_SPAN} °F))")
_BACK = re.compile(rf"(?P<f>{_SPAN} °F{_PER}) \({_SPAN} °C{_PER}\)")  # "did you mean 400 °F (204 °C)?"
_SIZES = re.compile(rf"(?P<mm>{_NUMBER} mm) \((?P<inch>{_NUMBER}) in\)")
_ALONE = re.compile(rf"(?<![\w.,-])(?P<span>{_SPAN}) (?P<unit>°C{_PER}|K|mm)(?![\w/])")
# A figure without a unit that may be a temperature; years of sources are none.
_BARE = re.compile(r"(?<![\w.])(?!19\d\d|20\d\d)\d{3,4}(?:-\d{3,4})?(?![\d.]| ?(?:°|[A-Za-z%]))")
_MM_PER_INCH, _ON_THE_RULE_IN = 25.4, 0.004


def in_units(text: str, units: Shown) -> str:
    """Return a text in the units that were asked for.

    Of a pair one stays. With "F" a figure that stands in °C, K or mm alone becomes °F or inches; where
    figures without a unit stand beside it, as in what a source printed, it stays, with the other beside it.
    """
    if units == "both":
        return text
    if units == "C":
        return _SIZES.sub(r"\g<mm>", _PAIR.sub(r"\g<c>", text))
    text = _SIZES.sub(lambda match: say_inches(float(match["inch"])), text)
    text = _PAIR.sub(lambda match: match["f"] or match["g"], _BACK.sub(r"\g<f>", text))
    keeps = _BARE.search(_ALONE.sub("", text)) is not None
    return _ALONE.sub(lambda match: f"{match[0]} ({_other(match)})" if keeps else _other(match), text)


def say_inches(inches: float) -> str:
    """Return a size as it stands on an inch rule: "1/8 in", "1 1/2 in"; a decimal where none is near."""
    for parts in (2, 4, 8, 16, 32, 64):
        whole, rest = divmod(round(inches * parts), parts)
        near = abs(whole + rest / parts - inches) <= _ON_THE_RULE_IN * min(1.0, 4.0 * inches)
        if near and (whole or rest):
            return (
                " ".join((*([str(whole)] if whole else []), *([f"{rest}/{parts}"] if rest else []))) + " in"
            )
    return f"{inches:.3f} in"


def _other(match: re.Match[str]) -> str:
    """Return a figure in °C, K or mm in the other unit."""
    unit = match["unit"]
    if unit == "mm":
        sizes = [say_inches(float(n) / _MM_PER_INCH) for n in re.findall(_NUMBER, match["span"])]
        return " to ".join(sizes)
    point = unit == "°C"
    said = re.sub(r"(?<!\d)" + _NUMBER, lambda n: _like(n[0], point), match["span"])
    return f"{said} °F{unit[2:]}"


def _like(printed: str, point: bool) -> str:
    """Return a point or a difference in °F with as many decimals as were printed."""
    value = f_from_c(float(printed)) if point else 1.8 * float(printed)
    return f"{value:.{len(printed.partition('.')[2])}f}"
