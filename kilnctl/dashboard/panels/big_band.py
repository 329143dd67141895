"""State, measured, goal and the next event in big letters, with a caption above and details below."""

from textual.content import Content

from kilnctl.dashboard import formatting as words
from kilnctl.dashboard.drawing.big_font import big, height_of, largest, on_plate, width_of
from kilnctl.dashboard.drawing.text_layout import Part, columns, first_that_fit, lines, text
from kilnctl.dashboard.panels.header import state_said
from kilnctl.dashboard.view_state import View
from kilnctl.stages import LIVE, in_words

LEAST_GAP = 3  # columns between two large words, at scale 1
EVENT = "17 MIN"  # as wide as the time to an event can be
TEN_H = 35_970.0
FOUR_FIGURES = 999.5
EVENTS = {"ramp": "heat", "soak": "soak", "cool": "cool"}
Letters = tuple[str, ...]


def band(v: View, width: int, height: int) -> Content:
    """Return the band for a room of `width` by `height`."""
    scale = band_scale(width, height)
    starts = band_starts(width, scale, widest_number(v))
    event, when = coming(v)
    event_scale = min(scale, max(1, (width - starts[-1]) // width_of(EVENT)))
    if starts[-1] + width_of(when, event_scale) > width:
        when = when.replace(" ", "")
    aim = v.degrees.number(v.s.goal_c) if v.s.goal_c is not None and not v.stale else ""
    air = height > height_of(scale) + 2  # letters that touch a reversed caption lose their tops
    state = _state(v, scale, air)
    others = (
        (_measured_when(v), v.degrees.number(None if v.stale else v.s.process_c), scale, "$measured"),
        (f"goal {v.degrees.mark}" if aim else "", aim, scale, "$goal"),
        (event, when, event_scale, "$strong"),
    )
    rows = height_of(scale) + air
    columns_ = [
        state,
        *([(said, "$soft"), *_letters(cell, size, rows, style)] for said, cell, size, style in others),
    ]
    cells = zip(*columns_[: len(starts)], strict=True)
    return lines([*(columns(row, starts, width) for row in cells), details(v, width)])


def _state(v: View, scale: int, air: bool) -> list[Part]:
    """Return the caption and the rows of the state; a call for a person is a plate and no fault's colour."""
    face, caption = v.face, _caption(v)
    if face.style != "call":
        style = f"${face.style}" if face.style else "$strong"
        caption_style = f"bold reverse {style}" if face.style else f"bold {style}"
        return [(caption, caption_style), *_letters(face.big, scale, height_of(scale) + air, style)]
    rows = [caption, *(f" {row} " for row in on_plate(face.big, scale, height_of(scale) + air))]
    wide = max(map(len, rows))
    return [(row.ljust(wide), "bold reverse $call") for row in rows]


def _letters(cell: str, scale: int, rows: int, style: str) -> list[Part]:
    """Return large letters at the bottom of so many rows."""
    drawn = big(cell, scale) if cell else ()
    return [(row, style) for row in (*("",) * (rows - len(drawn)), *drawn)]


def _caption(v: View) -> str:
    s, mark = v.s, words.shape(v.face, v.plain)
    if s.trip and v.over:
        return f"{mark} latched since {words.tripped_at(s)}"
    ended = s.state not in LIVE and not s.trip
    return f"{mark} {state_said(v)}" + (f" · {in_words(s.outcome or s.state)}" if ended else "")


def _measured_when(v: View) -> str:
    if not v.grey:
        return f"measured {v.degrees.mark}"
    return f"was{f' {v.degrees.number(v.s.process_c)}' * v.stale}, {words.ago(v.age_s)} ago"


def band_scale(width: int, height: int) -> int:
    """Return the scale at which the widest state, temperature and goal fit the band."""
    return largest("TRIPPED  1085  1085", width, max(4, height - 2))


def widest_number(v: View) -> str:
    """Return the widest temperature that a heat can show: three figures where it trips below 1000."""
    judged = (i.limit for i in v.s.interlocks if i.kind == "over_temperature" and i.limit is not None)
    return "1088" if v.degrees.of(min([v.s.limit_c, *judged])) >= FOUR_FIGURES else "888"


def band_starts(width: int, scale: int, number: str) -> tuple[int, ...]:
    """Return the columns where state, temperature, goal and, where there is room, the next event begin.

    They are the same whatever stands there; `number` is the widest temperature.
    """
    least = LEAST_GAP * scale  # wider than the gaps within a word, or two numbers are read as one
    widest = [width_of(word, scale) for word in ("HEATING", number, number)]
    for event in (width_of(EVENT, scale), width_of(EVENT)):
        if sum(widest) + event + 3 * least <= width:
            widest.append(event)
            break
    room, gaps = width - sum(widest), len(widest) - 1
    gap = max(1, room // len(widest))
    # digits bring room of their own, the word brings none
    first = max(gap, min(room - least * (gaps - 1), 4 * scale))
    later = min(max(gap, 4 * scale), (room - first) // (gaps - 1))
    return tuple(sum(widest[:n]) + (first + (n - 1) * later if n else 0) for n in range(len(widest)))


def coming(v: View) -> tuple[str, str]:
    """Return the next event and the time to it in a few large letters; nothing where nobody knows."""
    s = v.s
    if v.timeless or s.state not in LIVE:
        return "", ""
    if s.waiting is not None:
        return "answer within", _large(words.deadline_s(s))
    following = words.next_segment(s)
    name = "ends" if following is None else EVENTS.get(following.kind, following.step or "you")
    return (f"{name} in", _large(s.segment_left_s)) if s.segment_left_s is not None else ("", "")


def _large(seconds: float | None) -> str:
    """Return a time in capitals, as short as it can be told: "110 S", "17 MIN", "1 H 23", "12 H"."""
    said = words.left(seconds).upper()
    return (
        said.partition(" H ")[0] + " H"
        if (seconds or 0.0) >= TEN_H
        else said.replace(" MIN", "")
        if " H " in said
        else said
    )


def details(v: View, width: int) -> Content:
    """Return the other temperatures, as many as fit."""
    s, d = v.s, v.degrees
    if v.stale:
        return Content("")  # nobody knows them
    limit_c = words.limit_in_force_c(s)
    limit = "trips at" if s.state in LIVE or s.trip else "oven limit"
    found = [("set-point", s.setpoint_c), ("part", s.part_c), ("second", s.second_c), (limit, limit_c)]
    shown = [f"{name} {d.number(value)}" for name, value in found if value is not None]
    if s.word == "silent":
        return text((f"{s.quality}: the board does not answer", "$soft"))
    if s.quality not in ("good", ""):
        said = f"{'!!' if v.plain else '▲'} no reading: {s.quality}"
        return text((said, "bold $urgent"), (f"  {shown[-1]}", "$soft"))  # no plate: letters stand on it
    if s.skin_c is not None:
        shown.insert(-1, f"thin edge ≈ {d.number(s.skin_c[0])}, at most {d.number(s.skin_c[1])}")
    if s.process_c is not None and s.setpoint_c is not None and s.state == "running":
        shown.insert(1, f"deviation {d.difference(s.process_c - s.setpoint_c)}")
    if limit_c < s.limit_c:
        shown.append(f"oven limit {d.number(s.limit_c)}")
    return text((first_that_fit(shown, width), "$soft"))
