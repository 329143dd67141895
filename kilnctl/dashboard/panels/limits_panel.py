"""The interlocks, each with its distance to the limit."""

from textual.content import Content

from kilnctl.dashboard.drawing.text_layout import bar, fit, lines, rule, text, thin_bar
from kilnctl.dashboard.formatting import ago
from kilnctl.dashboard.view_state import View
from kilnctl.link.snapshot import InterlockView
from kilnctl.stages import LIVE

SHOWN = 0.5  # of the way to the limit: from here on a distance has a row of its own
FIRST = "over_temperature"  # always shown
NEAR = 0.8  # of the way to the limit: from here on a distance is shown as abnormal
WIDE = 70  # from here on label, number and bar stand in columns of their own
LABELS, NUMBERS = 26, 18


def rows_needed(v: View) -> int:
    """Return how many rows the limits fill: title, what is near, what is far, what is not judged."""
    active = [i for i in v.s.interlocks if i.active]
    near = sum(_has_row(v, i) for i in active)
    return 1 + near + (near < len(active)) + any(_blind(i) for i in active)


def _has_row(v: View, i: InterlockView) -> bool:
    return i.near >= SHOWN or i.kind in (v.s.trip_kind, FIRST)


def limits(v: View, width: int, height: int) -> Content:
    """Return what tripped, what is near its limit and the temperature; the rest, far away, is one line.

    Sorted by quarters of the way only, so that rows do not change places with every reading; the temperature
    is first among equals.
    """
    active = [i for i in v.s.interlocks if i.active]
    found = sorted(
        (i for i in active if _has_row(v, i)),
        key=lambda i: (i.kind != v.s.trip_kind, -int(4 * i.near), i.kind != FIRST),
    )[: max(1, height - 2)]
    rows = [_limit(v, i, width) for i in found]
    if far := len(active) - len(found):
        rows.append(text((fit(f"  {far} more, none of them near: page 4", width), "$soft")))
    blind = sum(_blind(i) for i in active)
    if blind and height - 1 > len(rows):
        rows.append(text((fit(f"  {blind} of them not monitored on this oven", width), "$quiet")))
    return lines([rule(title(v), width), *rows][:height])


def title(v: View) -> str:
    """Return the title: after the end nothing is judged any more, and what stands there is old."""
    if v.stale:
        return f"limits, {ago(v.age_s)} ago"
    return "distance to limits" if v.s.state in LIVE else "limits when the heat ended"


def _blind(i: InterlockView) -> bool:
    """Return whether there is nothing that it could measure: no detector is no clean air."""
    return i.value is None and bool(i.note) and i.note not in ("answered", "shut")


def _limit(v: View, i: InterlockView, width: int) -> Content:
    tripped = i.kind == v.s.trip_kind
    part = 1.0 if tripped else i.near  # what ended the heat is not judged any more: it stays at its limit
    numbers = "tripped" if tripped and i.near < 1.0 else limit_numbers(v, i)
    near = part >= NEAR
    mark = ("!! " if v.plain else "▲ ") if near else ("   " if v.plain else "  ")
    before = width - 13 if width < WIDE else len(mark) + LABELS + NUMBERS  # so that bars begin in one column
    label = fit(i.label, max(8, before - len(mark) - len(numbers) - 1))
    space = max(1, before - len(mark) - len(label) - len(numbers))
    abnormal = "$urgent" if tripped else "$soon"  # one cause, one colour
    style = f"bold {abnormal}" if near else "$soft"
    row = [(mark + label + " " * space, style), (numbers + " ", style)]
    room = width - before - 1
    if near:
        row.append((bar(part, room, v.plain, NEAR), abnormal))
    elif i.value is not None:
        row.append((thin_bar(part, room, v.plain, NEAR), "$soft"))
    return text(*row)


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
    when = "" if v.s.state in LIVE else "when the heat ended"
    when = f"{ago(v.age_s)} ago" if v.stale else when
    rows = [rule("all interlocks", width, when)]
    for i in v.s.interlocks:
        rows.append(_limit(v, i, width))
        if i.note and limit_numbers(v, i) != i.note:
            rows.append(text((f"     {i.note}", "$soft")))
    return lines(rows)
