"""The interlocks, each with its distance to the limit."""

from textual.content import Content

from kilnctl.dashboard.text_layout import bar, fit, lines, rule, text
from kilnctl.dashboard.view_state import View
from kilnctl.link.snapshot import InterlockView
from kilnctl.stages import LIVE

NEAR = 0.8  # of the way to the limit: from here on a distance is shown as abnormal
WIDE = 70  # from here on label, number and bar stand in columns of their own
LABELS, NUMBERS = 26, 18


def limits(v: View, width: int, height: int) -> Content:
    """Return the interlocks with their distance to the limit, what tripped first, then the nearest.

    Sorted by quarters of the way only, so that rows do not change places with every reading; the temperature
    is first among equals, and what has nothing to look with comes last: no detector is no clean air.
    """
    active = (i for i in v.s.interlocks if i.active)
    found = sorted(
        active,
        key=lambda i: (i.kind != v.s.trip_kind, -int(4 * i.near), i.kind != "over_temperature", i.note != ""),
    )
    rest = len(found) - (height - 1)
    note = f"{rest} more on page 4" if rest > 0 else ""
    rows = [_limit(v, i, width) for i in found[: height - 1]]
    return lines([rule(title(v), width, note), *rows])


def title(v: View) -> str:
    """Return the title: after the end nothing is judged any more, and what stands there is old."""
    return "distance to limits" if v.s.state in LIVE else "limits as the heat ended"


def _limit(v: View, i: InterlockView, width: int) -> Content:
    numbers = limit_numbers(v, i)
    near = i.near >= NEAR or i.kind == v.s.trip_kind
    mark = ("!! " if v.plain else "▲ ") if near else ("   " if v.plain else "  ")
    before = width - 13 if width < WIDE else len(mark) + LABELS + NUMBERS  # so that bars begin in one column
    label = fit(i.label, max(8, before - len(mark) - len(numbers) - 1))
    space = max(1, before - len(mark) - len(label) - len(numbers))
    abnormal = "$urgent" if i.kind == v.s.trip_kind else "$soon"  # one cause, one colour
    style = f"bold {abnormal}" if near else "$soft"
    return text(
        (mark + label + " " * space, style),
        (numbers + " ", style),
        (bar(i.near, width - before - 1, v.plain, NEAR), abnormal if near else "$soft"),
    )


def limit_numbers(v: View, i: InterlockView) -> str:
    """Return value and limit of an interlock in the chosen unit."""
    if i.value is None or i.limit is None:
        return i.note if len(i.note) <= 16 else ""
    pair, unit = (i.value, i.limit), i.unit
    if unit in ("°C", "C"):
        pair, unit = (v.degrees.of(i.value), v.degrees.of(i.limit)), v.degrees.mark
    elif unit == "K" and v.degrees.unit == "F":
        pair, unit = (i.value * 1.8, i.limit * 1.8), "°F"
    return f"{_short(pair[0])} / {_short(pair[1])} {unit}".rstrip()


def _short(x: float) -> str:
    return f"{x:.0f}" if abs(x) >= 100 or x == int(x) else f"{x:.1f}" if abs(x) >= 1 else f"{x:.2f}"


def limit_page(v: View, width: int) -> Content:
    """Return every interlock in its own fixed order, with its note."""
    when = "" if v.s.state in LIVE else "as the heat ended"
    rows = [rule("all interlocks", width, when)]
    for i in v.s.interlocks:
        rows.append(_limit(v, i, width))
        if i.note and limit_numbers(v, i) != i.note:
            rows.append(text((f"     {i.note}", "$soft")))
    return lines(rows)
