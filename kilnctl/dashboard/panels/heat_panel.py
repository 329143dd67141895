"""Duty, relay, energy, and the alarms."""

from textual.content import Content

from kilnctl.dashboard import formatting as words
from kilnctl.dashboard.drawing.text_layout import (
    SHORTEST_BAR,
    bar,
    fit,
    lines,
    rule,
    sentence,
    standing_in,
    text,
)
from kilnctl.dashboard.panels.limit_meanings import MEANINGS
from kilnctl.dashboard.view_state import View, is_acknowledged, unanswered
from kilnctl.link.snapshot import AlarmView

RELAY = {True: "ON", False: "off", None: "unknown"}
ROOM_FOR_BOTH = 110  # columns for the clock and the time of the run on one line


def rows_needed(v: View) -> int:
    """Return how many rows the heat and every alarm fill."""
    return 3 + (not v.s.record_complete) + max(1, len(v.s.alarms))


def heat(v: View, width: int, height: int) -> Content:
    """Return duty, relay, energy, and then the alarms."""
    s = v.s
    rows = _was(v, width) if v.stale else _is(v, width)
    if not s.record_complete:
        rows.append(text(("RECORD HAS GAPS", "bold $soon")))
    return lines([rule("heat and alarms", width), *rows, *alarm_rows(v, width, height - 1 - len(rows))])


def _is(v: View, width: int) -> list[Content]:
    s, numbers = v.s, f" {100 * v.s.duty:3.0f} %  relay {RELAY[v.s.heat_on]}"
    return [
        text(
            ("heat ", "$soft"),
            (bar(s.duty, max(SHORTEST_BAR, width - 5 - len(numbers)), v.plain), "$soft"),
            (numbers, "$strong"),
        ),
        text((fit(f"{s.energy_kwh:.2f} kWh · relay {s.closures_per_h:.0f} times/h", width), "$soft")),
    ]


def _was(v: View, width: int) -> list[Content]:
    """Return what an old picture tells of the heat: it was so, and nobody knows what it is now."""
    known = "was off, read back" if v.s.off_read_back and words.off_is_known(v.s) else "unknown"
    now = "off, read back since" if v.cut.proves_off(v.s) else known
    before = f"{words.ago(v.age_s)} ago: {100 * v.s.duty:.0f} %, relay {RELAY[v.s.heat_on]}"
    return [text(("heat ", "$soft"), (now, "bold $strong")), text((fit(before, width), "$soft"))]


def alarm_rows(v: View, width: int, room: int) -> list[Content]:
    """Return the alarms that fit, unanswered ones first."""
    s = v.s
    calls = unanswered(s)
    found = calls + [a for a in s.alarms if is_acknowledged(a)]
    if not found:
        return [text(("alarms: none", "$soft"))]
    if len(found) > room:
        more = f"{len(found)} alarms, {len(calls)} unanswered: page 5"
        style = f"bold reverse ${alarm_style(calls[0])}" if calls else "$soft"
        return [*(_alarm(v, a, width) for a in found[: room - 1]), text((fit(more, width), style))]
    return [_alarm(v, a, width) for a in found]


def _alarm(v: View, a: AlarmView, width: int) -> Content:
    head = f"{alarm_mark(a, v.plain)} " + ("FIRST: " if a.first_out else "")
    tail = " (over)" if a.gone else ""
    if is_acknowledged(a):
        tail = " (shelved)" if a.state == "shelved" else " (seen)"
    room = width - len(head) - len(tail)
    reason = a.subject if a.gone else a.reason
    what = reason if len(reason) <= room else fit(a.kind.replace("_", " "), room)
    style = "$soft" if is_acknowledged(a) else f"bold ${alarm_style(a)}"
    return text((head + what + tail, style))


def alarm_page(v: View, width: int) -> Content:
    """Return every alarm in full."""
    rows = [rule("alarms", width, "a acknowledges · r resets a trip")]
    for a in unanswered(v.s) + [a for a in v.s.alarms if is_acknowledged(a)]:
        style = "$soft" if is_acknowledged(a) else f"bold ${alarm_style(a)}"
        first = " · FIRST CAUSE" if a.first_out else ""
        since = f"since {words.earlier_time(v.s, a.since_s)}"
        since += f", {words.left(a.since_s)} into the run" if width >= ROOM_FOR_BOTH else ""
        head = f"{alarm_mark(a, v.plain)} {a.priority} · {a.state}{first} · {since}"
        rows += [text((head, style)), *standing_in(sentence(a.reason_now), width, 3, "$strong")]
        if meaning := MEANINGS.get(a.kind):
            rows += standing_in(meaning, width, 3, "$soft")
    if not v.s.alarms:
        rows.append(text(("No alarms.", "$soft")))
    if v.s.not_checked:
        rows.append(rule("not checked by software", width))
        for item in v.s.not_checked:
            rows += standing_in(sentence(item), width, 3, "$soft")
    return lines(rows)


def alarm_mark(alarm: AlarmView, plain: bool) -> str:
    """Return an alarm's shape, or its plain characters."""
    return words.PRIORITY_SHAPES.get(alarm.priority, ("●", "!"))[1 if plain else 0]


def alarm_style(alarm: AlarmView) -> str:
    """Return an alarm's style name; an unknown priority is taken for "soon"."""
    return alarm.priority if alarm.priority in words.PRIORITY_SHAPES else "soon"
