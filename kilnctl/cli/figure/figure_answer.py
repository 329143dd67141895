"""One answer on one screen: the figure with its range, the source, the assumption; the same as JSON."""

import json
import textwrap
from collections.abc import Mapping
from dataclasses import dataclass

from kilnctl.cli.terminal.tell import WIDTH
from kilnctl.config.preferences import as_chosen
from kilnctl.units import f_from_c, say_duration

ANSWERED = 0


@dataclass(frozen=True, slots=True)
class FigureAnswer:
    """What was asked, the rows of the answer, and what it rests on.

    `data` is the same in numbers: keys carry their unit, temperatures are in degC.
    """

    asked: str
    rows: tuple[tuple[str, str], ...]
    source: str
    assumed: str
    data: Mapping[str, object]
    beware: tuple[str, ...] = ()


def show(answer: FigureAnswer, as_json: bool) -> int:
    """Print an answer and return the exit code of a command that did what it was asked."""
    if as_json:
        rest = {"source": answer.source, "assumed": answer.assumed, "beware": list(answer.beware)}
        print(json.dumps({"asked": answer.asked, **answer.data, **rest}))
        return ANSWERED
    rows = [*answer.rows, ("source", answer.source), ("assumed", answer.assumed)]
    rows += [("beware", text) for text in answer.beware]
    chosen = as_chosen()
    rows = [(chosen(name), chosen(text)) for name, text in rows]
    width = max(len(name) for name, _ in rows)
    print(textwrap.fill(chosen(answer.asked), WIDTH))
    for name, text in rows:
        lead = f"  {name:<{width}}  "
        print(textwrap.fill(text, WIDTH, initial_indent=lead, subsequent_indent=" " * len(lead)))
    return ANSWERED


def say_fine(c: float) -> str:
    """Return a temperature to a tenth in both units: "99.6 °C (211.3 °F)"."""
    return f"{c:.1f} °C ({f_from_c(c):.1f} °F)"


def say_difference(k: float) -> str:
    """Return a difference in both units: "5.0 K (9.0 °F)"."""
    kelvins, fahrenheit = round(k, 1) + 0.0, round(k * 1.8, 1) + 0.0  # no minus before nothing
    return f"{kelvins:.1f} K ({fahrenheit:.1f} °F)"


def say_span_c(low_c: float, high_c: float) -> str:
    """Return a range of temperatures in both units, one number where both ends are the same."""
    if round(low_c) == round(high_c):
        return f"{low_c:.0f} °C ({f_from_c(low_c):.0f} °F)"
    return f"{low_c:.0f}-{high_c:.0f} °C ({f_from_c(low_c):.0f}-{f_from_c(high_c):.0f} °F)"


def say_seconds(seconds: float) -> str:
    """Return a short time to a tenth of a second, a long one as people read it."""
    return f"{seconds:.1f} s" if seconds < 60.0 else say_duration(seconds)


def say_times(low_s: float, high_s: float) -> str:
    """Return a range of times."""
    low, high = (say_seconds(seconds) for seconds in sorted((low_s, high_s)))
    return low if low == high else f"{low} to {high}"
