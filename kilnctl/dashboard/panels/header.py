"""The top of the screen: which oven, how old the picture is, state and temperature in big letters."""

from textual.content import Content

from kilnctl.dashboard import formatting as words
from kilnctl.dashboard.drawing.big_font import big, height_of, largest, width_of
from kilnctl.dashboard.drawing.text_layout import (
    columns,
    first_that_fit,
    lines,
    sentence,
    spread,
    text,
)
from kilnctl.dashboard.view_state import View, unanswered
from kilnctl.link.trip_head import trip_head
from kilnctl.stages import LIVE, in_words

LEAST_GAP = 2  # columns between the large words
TEN_H = 35_970.0
EVENTS = {"ramp": "heat", "soak": "soak", "cool": "cool"}
OTHER = Content.from_markup("[@click=app.oven][bold $strong]o[/] [$soft]shows it[/][/]")


def header(v: View, width: int) -> Content:
    """Return the first row: which oven, which heat, how old the picture is."""
    s, age = v.s, freshness(v)
    speed = f" ×{s.time_scale:g}" if s.time_scale != 1.0 else ""
    simulated = f" SIMULATED{speed}" if s.simulated else ""
    facts = [
        "read-only" if v.read_only else "",
        "unattended" if s.unattended else "",
        s.profile,
        f"run {s.run}" if s.run else "",
        s.steel,
    ]
    room = width - len(s.oven) - len(simulated) - age.cell_length - 3
    heat = first_that_fit([fact for fact in facts if fact], room)
    return spread(text((s.oven, "bold $strong"), (f"{simulated}  {heat}", "$soft")), age, width)


def freshness(v: View) -> Content:
    """Return the age of the picture and the clock."""
    at = words.clock_time(v.s.utc)
    if v.over:
        return text((f"ENDED, last {at}", "bold $strong"))
    if not v.attached:
        return text((f" NO CONNECTION, last {at} ", "reverse bold $soon"))
    if v.grey:
        return text((f" OLD: {v.age_s:.0f} s, from {at} ", "reverse bold $soon"))
    return text((f"live  {at}" if v.age_s < 1.5 else f"live {v.age_s:.0f} s  {at}", "$soft"))


def others(views: list[View], width: int) -> Content:
    """Return a row for each oven that is not shown in full: no oven may burn unseen."""
    return lines([_other(v, width) for v in views])


def _other(v: View, width: int) -> Content:
    s, face = v.s, v.face
    abnormal = face.style
    style = f"bold reverse ${abnormal}" if abnormal else "bold $strong"
    state = f" {words.shape(face, v.plain)} {_state(v)} "
    head = text((f"{s.oven} ", "bold $strong"), (state, style))
    room = width - head.cell_length - OTHER.cell_length - 2
    said = text((f" {first_that_fit(_other_facts(v), room)}", "$strong"))
    return spread(Content("").join([head, said]), OTHER, width)


def _other_facts(v: View) -> list[str]:
    s, alarms = v.s, len(unanswered(v.s))
    left_s = words.deadline_s(s) if s.waiting is not None else s.total_left_s
    left_s = None if v.stale else left_s
    goal = f" → {v.degrees.point(s.goal_c)}" if s.goal_c is not None and not v.stale else ""
    at = words.clock_time(s.utc)
    facts = [
        f"ended, last {at}" if v.over else f"OLD, from {at}" if v.grey else "",
        action_of(v),
        f"{'was ' if v.stale else ''}{v.degrees.point(s.process_c)}{goal}",
        f"{alarms} alarm{'s' if alarms > 1 else ''}" if alarms else "",
        s.trip or (f"{words.left(left_s)} left" if left_s is not None else ""),
    ]
    return [fact for fact in facts if fact]


def action_of(v: View) -> str:
    """Return what to do about a trip whose heat is not known to be off; empty at any other time."""
    head = trip_head(v.s, v.stale) if v.s.trip else None
    return head.action if head is not None and head.level != "off" else ""


def _state(v: View) -> str:
    return f"no data, was {words.state_word(v.s)}" if v.stale else words.state_word(v.s)


def caution(v: View, width: int) -> Content:
    """Return the words that every screen shows all the time; broken between sentences where they can be."""
    said = words.caution(v.s.isolator)
    if len(said) > width:
        first, _, last = said.rpartition(". ")
        said = f"{first}.\n{last}" if len(first) < width else said
    return text((said, "bold $strong"))


def banner(v: View, width: int) -> Content:
    """Return what is said when the picture is old: nobody may act on it. Empty while it is young."""
    if not v.banner:
        return Content("")
    at = words.clock_time(v.s.utc)
    if not v.attached:
        why = f"THE CONTROLLER HAS GONE. Last data {at}, {words.ago(v.age_s)} ago."
    else:
        why = f"NO NEW DATA FOR {v.age_s:.0f} s. What you see is from {at}."
    said = v.last_words[:1].upper() + v.last_words[1:]
    known = f"{sentence(said)} Look" if said else "The heat may be on: look"
    isolator = v.s.isolator or "not named"
    mark = "!!" if v.plain else "▲"
    style = "soon" if words.off_is_known(v.s) or said else "urgent"
    return text((f"{mark} {why} {known} at the oven; isolator: {isolator}.", f"bold reverse ${style}"))


def band(v: View, width: int, height: int) -> Content:
    """Return state, temperature and goal in big letters, with a caption above and details below."""
    s, face = v.s, v.face
    event, when = coming(v)
    scale = band_scale(width, height)
    starts = band_starts(width, scale)
    aim = v.degrees.number(s.goal_c) if s.goal_c is not None and not v.stale else ""
    cells = (face.big, v.degrees.number(None if v.stale else s.process_c), aim, when)[: len(starts)]
    word = f"{words.shape(face, v.plain)} {_state(v)}"
    if s.trip and v.over:
        word = f"{words.shape(face, v.plain)} latched since {words.tripped_at(s)}"
    elif s.state not in LIVE and not s.trip:
        word = f"{word} · {in_words(s.outcome or s.state)}"
    measured_when = f"measured {v.degrees.mark}"
    if v.grey:
        measured_when = f"was{f' {v.degrees.number(s.process_c)}' * v.stale}, {words.ago(v.age_s)} ago"
    abnormal = f"bold reverse ${face.style}" if face.style else "bold $strong"
    goal = f"goal {v.degrees.mark}" if aim else ""
    captions = ((word, abnormal), (measured_when, "$soft"), (goal, "$soft"), (event, "$soft"))
    styles = (f"${face.style}" if face.style else "$strong", "$measured", "$goal", "$strong")[: len(starts)]
    letters = [big(cell, scale) if cell else [""] * height_of(scale) for cell in cells]
    rows = [columns(captions[: len(starts)], starts, width)]
    for row in zip(*letters, strict=True):
        rows.append(columns(tuple(zip(row, styles, strict=True)), starts, width))
    return lines([*rows, details(v, width)])


def band_scale(width: int, height: int) -> int:
    """Return the scale at which the widest state, temperature and goal fit the band."""
    return largest("TRIPPED  1085  1085", width, max(4, height - 2))


def band_starts(width: int, scale: int) -> tuple[int, ...]:
    """Return the columns where state, temperature, goal and, where there is room, the next event begin.

    They are the same whatever stands there.
    """
    widest = [width_of(word, scale) for word in ("HEATING", "1088", "1088", "17 MIN")]
    if sum(widest) + 3 * LEAST_GAP > width:
        widest.pop()
    room = width - sum(widest)
    gap = max(1, room // len(widest))
    first = max(gap, min(room - 2, 4))  # digits bring room of their own, the word brings none
    later = min(gap, (room - first) // max(1, len(widest) - 2)) if len(widest) > 3 else gap
    return tuple(sum(widest[:n]) + (first + (n - 1) * later if n else 0) for n in range(len(widest)))


def coming(v: View) -> tuple[str, str]:
    """Return the next event and the time to it in a few large letters; nothing where nobody knows."""
    s = v.s
    if v.stale or s.state not in LIVE or s.quality not in ("good", ""):
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
    found = [("set-point", s.setpoint_c), ("part", s.part_c), ("second", s.second_c), ("trips at", limit_c)]
    shown = [f"{name} {d.number(value)}" for name, value in found if value is not None]
    if s.word == "not powered":
        return text((f"{s.quality}: the board is not powered", "$soft"))
    if s.quality not in ("good", ""):
        return text(
            (
                f" ▲ no reading: {s.quality} " if not v.plain else f" !! no reading: {s.quality} ",
                "bold reverse $urgent",
            ),
            ("  " + " · ".join(shown[-1:]), "$soft"),
        )
    if s.skin_c is not None:
        shown.insert(-1, f"thin edge ≈ {d.number(s.skin_c[0])}, at most {d.number(s.skin_c[1])}")
    if s.process_c is not None and s.setpoint_c is not None and s.state == "running":
        shown.insert(1, f"deviation {d.difference(s.process_c - s.setpoint_c)}")
    if limit_c < s.limit_c:
        shown.append(f"oven limit {d.number(s.limit_c)}")
    return text((first_that_fit(shown, width), "$soft"))


def too_small(v: View, width: int, height: int, smallest: tuple[int, int]) -> Content:
    """Return what can be said in a terminal that is too small: the state, and how to switch off."""
    s = v.s
    too_small_ = (
        f"This terminal is too small ({width}×{height}): make it at least {smallest[0]}×{smallest[1]}, "
        "or use a smaller font."
    )
    rows = [
        text(
            (f"{_state(v)} {v.degrees.point(s.process_c)}  ", "bold $strong"),
            ("F9 OFF", "bold reverse"),
        ),
        freshness(v),
        text((words.trip_words(s, v.stale), "bold $urgent")) if s.trip else None,
        text((f"You: {s.waiting.say}", "bold $soon")) if s.waiting is not None else None,
        text((words.caution(s.isolator), "bold $strong")),
        text((too_small_, "$soft")),
    ]
    return lines([row for row in rows if row is not None])
