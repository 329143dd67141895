"""What each part of the screen says, as styled text that fits the room it is given. No widgets, no state."""

from textual.content import Content

from kilnctl.dashboard import words
from kilnctl.dashboard.hands import Hands
from kilnctl.dashboard.letters import big, height_of, largest, width_of
from kilnctl.dashboard.view import View, is_acknowledged, unanswered
from kilnctl.link.snapshot import AlarmView, InterlockView, SegmentView, Snapshot

Part = tuple[str, str]
NEAR = 0.8  # of the way to the limit: from here on a distance is shown as abnormal
ROOM_FOR_TWO = 92
SHORTEST_BAR = 4
TALL = 12  # rows of the plan from which on everything finds its own row
HOT_C = 50.0  # below this nobody is burnt
LEGEND = (
    ("━measured ", "$measured"),
    ("╌set-point ", "$goal"),
    ("┈part ", "$part"),
    ("╌ahead ", "$ahead"),
    ("╌limit ", "$limit"),
)


def text(*parts: Part | str) -> Content:
    """Return styled text from (words, style) pairs."""
    return Content.assemble(*parts)


def lines(rows: list[Content]) -> Content:
    """Return rows one under another."""
    return Content("\n").join(rows)


def fit(words_: str, width: int) -> str:
    """Return words that are no longer than width; an ellipsis shows that something is missing."""
    return words_ if len(words_) <= width else words_[: max(0, width - 1)] + "…"


def spread(left: Content, right: Content, width: int) -> Content:
    """Return one row with something at both ends; the left gives way."""
    room = width - right.cell_length - (1 if right.cell_length else 0)
    if left.cell_length > room:
        left = left.truncate(max(0, room), ellipsis=True)
    return Content("").join([left, Content(" " * (width - left.cell_length - right.cell_length)), right])


def bar(part: float, width: int, plain: bool, mark: float | None = None) -> str:
    """Return an analogue bar; `part` and `mark` (where normal ends) go from 0 to 1."""
    full, empty, tick = ("#", ".", "|") if plain else ("█", "░", "┊")
    inside = max(1, width - 2)
    filled = round(max(0.0, min(1.0, part)) * inside)
    cells = [full] * filled + [empty] * (inside - filled)
    if mark is not None and round(mark * inside) >= filled:
        cells[min(inside - 1, round(mark * inside))] = tick
    return f"[{''.join(cells)}]"


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


def first_that_fit(words_: list[str], width: int) -> str:
    """Return as many of the words as fit, in their order: what does not fit is left out, not cut."""
    row = ""
    for word in words_:
        longer = f"{row} · {word}" if row else word
        row = longer if len(longer) <= width else row
    return row


def freshness(v: View) -> Content:
    """Return the age of the picture and the clock."""
    at = words.clock_time(v.s.utc)
    if not v.attached:
        return text((f" NOT ATTACHED, last {at} ", "reverse bold $soon"))
    if v.grey:
        return text((f" OLD: {v.age_s:.0f} s, from {at} ", "reverse bold $soon"))
    return text((f"live {v.age_s:.0f} s  {at}", "$soft"))


def band(v: View, width: int, height: int) -> Content:
    """Return state, temperature and goal in big letters, with a caption above and details below."""
    s, face = v.s, words.face(v.s)
    cells = (face.big, v.degrees.number(s.process_c), v.degrees.number(s.goal_c))
    scale = band_scale(width, height)
    starts = band_starts(width, scale)
    word = f"{words.shape(face, v.plain)} {words.state_word(s)}"
    if s.state not in ("running", "tripped", "held"):
        word = f"{word} · {s.state}"
    measured_when = f"was, {v.age_s:.0f} s ago" if v.grey else f"measured {v.degrees.mark}"
    abnormal = f"bold reverse ${face.style}" if face.style else "bold $strong"
    captions = ((word, abnormal), (measured_when, "$soft"), (f"goal {v.degrees.mark}", "$soft"))
    styles = (f"${face.style}" if face.style else "$strong", "$measured", "$goal")
    letters = [big(cell, scale) for cell in cells]
    rows = [columns(captions, starts, width)]
    for row in zip(*letters, strict=True):
        rows.append(columns(tuple(zip(row, styles, strict=True)), starts, width))
    return lines([*rows, details(v, width)])


def band_scale(width: int, height: int) -> int:
    """Return the scale at which the widest state, temperature and goal fit the band."""
    return largest("TRIPPED  1085  1085", width, max(4, height - 2))


def band_starts(width: int, scale: int) -> tuple[int, int, int]:
    """Return the columns where state, temperature and goal begin: the same whatever they are."""
    state, measured, goal = (width_of(widest, scale) for widest in ("HEATING", "1088", "1088"))
    gap = max(1, (width - state - measured - goal) // 3)
    return 0, state + gap, state + gap + measured + gap


def columns(cells: tuple[Part, ...], starts: tuple[int, ...], width: int) -> Content:
    """Return one row with cells at fixed columns."""
    row = Content("")
    for (words_, style), start in zip(cells, starts, strict=True):
        space = max(0 if not row.cell_length else 1, start - row.cell_length)
        row = Content("").join([row, Content(" " * space), text((words_, style))])
    return row.truncate(width)


def details(v: View, width: int) -> Content:
    """Return the other temperatures, as many as fit."""
    s, d = v.s, v.degrees
    found = [("set-point", s.setpoint_c), ("part", s.part_c), ("second", s.second_c), ("limit", s.limit_c)]
    shown = [f"{name} {d.number(value)}" for name, value in found if value is not None]
    if s.quality not in ("good", ""):
        return text(
            (
                f" ▲ no reading: {s.quality} " if not v.plain else f" !! no reading: {s.quality} ",
                "bold reverse $urgent",
            ),
            ("  " + " · ".join(shown[-1:]), "$soft"),
        )
    if s.process_c is not None and s.setpoint_c is not None and s.state == "running":
        shown.insert(1, f"off by {d.difference(s.process_c - s.setpoint_c)}")
    return text((fit(" · ".join(shown), width), "$soft"))


def now(v: View, width: int) -> Content:
    """Return the one thing that a person must do now, with its deadline; then what comes next."""
    rows = _calls(v)
    if not v.s.trip:
        rows.append(_next(v))
    if v.answer:
        rows.append(text((v.answer, "italic $strong")))
    return lines(rows)


def _calls(v: View) -> list[Content]:
    """Return what calls for a person: a trip alone, else the step or the coming quench, and an alarm."""
    s, alarms = v.s, unanswered(v.s)
    if s.trip:
        return [text((f"{'X' if v.plain else '✖'} {words.trip_words(s)}", "bold $urgent"))]
    rows = []
    if s.waiting is not None:
        rows.append(_step(v))
    elif words.stage(s):
        rows.append(_early(v))
    if alarms:
        rows.append(_alarm_call(v, alarms[0]))
    return rows or [_quiet(v)]


def _alarm_call(v: View, alarm: AlarmView) -> Content:
    return text(
        (f" {alarm_mark(alarm, v.plain)} ALARM ", f"bold reverse ${_style(alarm)}"),
        (f" {sentence(alarm.reason)} a acknowledges.", "bold $strong"),
    )


def _early(v: View) -> Content:
    early, mark = words.stage(v.s), "*" if v.plain else "◆"
    ready = "oil, lid, tongs, gloves" if early == "T-10" else "gloves on, tongs in hand, way clear"
    return text(
        (f" {mark} {early.replace('-', '−')} ", "bold reverse $soon"),
        (f" Quench in {words.left(words.quench_in_s(v.s))}: {ready}.", "bold $strong"),
    )


def _quiet(v: View) -> Content:
    if v.s.word == "off but hot":
        return text(
            ("You: ", "$soft"), (f"keep it shut; HOT until below {v.degrees.point(HOT_C)}.", "$strong")
        )
    return text(("You: ", "$soft"), ("nothing to do now.", "$soft"))


def _step(v: View) -> Content:
    s = v.s
    assert s.waiting is not None
    face = words.face(s)
    left_s = words.deadline_s(s)
    due = f"{words.left(left_s)} (until {words.later_time(s, left_s)})"
    default = f"No answer within {due}: {'heat off' if s.waiting.heat_on_meanwhile else 'the run ends'}."
    key = "SPACE as it leaves the furnace." if s.waiting.step == "quench" else "SPACE when done."
    label = face.big if s.waiting.step == "quench" else "YOU"
    return text(
        (f" {words.shape(face, v.plain)} {label} ", f"bold reverse ${face.style or 'soon'}"),
        (f" {sentence(s.waiting.say)} {key} ", "bold $strong"),
        (f"{default} {words.heat_words(s.waiting)}", "$strong"),
    )


def _next(v: View) -> Content:
    s = v.s
    if s.state not in ("running", "held"):
        note = "The heat is over. " if s.run else ""
        return text((note + (sentence(s.note) if s.note else ""), "$soft"))
    ends = f" Ends {words.clock_time(s.end_utc)}, {words.left(s.total_left_s)} left." if s.end_utc else ""
    if words.stage(s) in ("T-10", "T-2"):
        return text((ends.strip(), "$soft"))
    return text(
        ("Next: ", "$soft"), (sentence(s.next_words or "the end of the heat"), "$strong"), (ends, "$soft")
    )


def sentence(words_: str) -> str:
    """Return words that end with one full stop."""
    return words_.rstrip(".") + "." if words_ else ""


def alarm_mark(alarm: AlarmView, plain: bool) -> str:
    """Return an alarm's shape, or its plain characters."""
    return words.PRIORITY_SHAPES.get(alarm.priority, ("●", "!"))[1 if plain else 0]


def _style(alarm: AlarmView) -> str:
    return alarm.priority if alarm.priority in words.PRIORITY_SHAPES else "soon"


def rule(title: str, width: int, right: str = "") -> Content:
    """Return a quiet rule with a title."""
    tail = f" {right} " if right else ""
    dashes = "─" * max(0, width - len(title) - len(tail) - 4)
    return text((f"── {fit(title, width - 4)} {dashes}", "$quiet"), (tail, "$soft")).truncate(width)


def plan(v: View, width: int, height: int) -> Content:
    """Return the segments around the present one, then the soak clocks and the temper so far."""
    short = height < TALL
    tail = soak_clocks(v, width) + treatment(v, width, short)
    if v.s.end_utc and not short:
        total = f"total {words.left(v.s.total_left_s)}, ends {words.clock_time(v.s.end_utc)}"
        tail.append(text((total, "$soft")))
    room = max(1, height - 1 - len(tail))
    shown = _window([_segment(v, seg, width) for seg in v.s.segments], v.s.segment or 0, room)
    done = sum(seg.ended_s is not None for seg in v.s.segments)
    title = rule("plan", width, f"{done} of {len(v.s.segments)} done")
    return lines([title, *shown, *tail][:height])


def _window(rows: list[Content], around: int, room: int) -> list[Content]:
    before = 1 if room > 2 else 0
    first = max(0, min(around - before, len(rows) - room))
    return rows[first : first + room]


def _segment(v: View, seg: SegmentView, width: int) -> Content:
    running = seg.index == v.s.segment and v.s.state in ("running", "held")
    mark, style = _progress(seg, running, v)
    when = _when(v, seg, running)
    choices = [f"{mark} {seg.index + 1} {what}" for what in segment_words(v, seg)]
    if running and len(choices[-1]) + len(when) >= width:
        when = when.removesuffix(" left")
    room = width - len(when) - (2 if when else 0)
    what = next((choice for choice in choices if len(choice) <= room), fit(choices[-1], room))
    return spread(text((what, style)), text((when, style)), width)


def _progress(seg: SegmentView, running: bool, v: View) -> Part:
    if running:
        return (">" if v.plain else "▶"), "bold $strong"
    if v.s.trip and seg.index == v.s.segment:
        return ("X" if v.plain else "✖"), "bold $urgent"
    if seg.ended_s is not None:
        return ("+" if v.plain else "✓"), "$quiet"
    return ("." if v.plain else "·"), "$soft"


def segment_words(v: View, seg: SegmentView) -> list[str]:
    """Return what a segment does, from the longest to the shortest way of saying it."""
    d = v.degrees
    goal = "" if seg.goal_c is None else d.point(seg.goal_c)
    rate = f" {d.rate(seg.rate_c_per_h)}" if seg.rate_c_per_h else ""
    match seg.kind:
        case "ramp":
            return [f"heat to {goal} at{rate}" if rate else f"heat to {goal}", f"heat {goal}"]
        case "soak":
            long = f"soak {goal} {words.left(seg.soak_s)}"
            return [long, f"soak {goal}"] if seg.ended_s is None else [f"soak {goal}"]
        case "cool":
            return [f"cool to {goal} at{rate}" if rate else f"cool to {goal}", f"cool {goal}"]
    return [f"you: {seg.say}", f"you: {seg.label}", f"you: {seg.step}"] if seg.label else [f"you: {seg.step}"]


def _when(v: View, seg: SegmentView, running: bool) -> str:
    if running:
        return f"{words.left(v.s.segment_left_s)} left" if v.s.segment_left_s is not None else "now"
    if seg.ended_s is not None and seg.started_s is not None:
        return words.left(seg.ended_s - seg.started_s)
    if seg.predicted_end_s is None or v.s.state not in ("running", "held"):
        return ""
    return words.later_time(v.s, seg.predicted_end_s - v.s.elapsed_s)


def soak_clocks(v: View, width: int) -> list[Content]:
    """Return the soak clocks of part and oven, each as a bar and a time."""
    s = v.s
    if s.soak_goal_s is None:
        return []
    found = [("part", s.soak_part_s), ("oven", s.soak_oven_s)]
    return [
        _clock(name, done_s, s.soak_goal_s, width, v.plain) for name, done_s in found if done_s is not None
    ]


def _clock(name: str, done_s: float, goal_s: float, width: int, plain: bool) -> Content:
    numbers = f" {words.left(done_s)} of {words.left(goal_s)}"
    label = f"soak {name} "
    if width - len(label) - len(numbers) < SHORTEST_BAR:
        label = f"{name} "
    room = max(SHORTEST_BAR, width - len(label) - len(numbers))
    return text(
        (label, "$soft"), (bar(done_s / max(goal_s, 1.0), room, plain), "$strong"), (numbers, "$strong")
    )


def treatment(v: View, width: int, short: bool = False) -> list[Content]:
    """Return the temper equivalence so far and the hardness range that the model predicts.

    Where there is one row only, it shows the smaller of the equivalences: nobody is told too much.
    """
    s, found = v.s, []
    if s.temper_equivalent and short:
        found.append(f"temper {words.left(min(s.temper_equivalent.values()))}")
    elif s.temper_equivalent:
        found += [f"temper {name}: {words.left(done_s)}" for name, done_s in s.temper_equivalent.items()]
    if s.predicted_hrc is not None:
        low, high = s.predicted_hrc
        found.append(f"{'' if short else 'predicted '}{low:.0f}–{high:.0f} HRC")
    rows = [" · ".join(found)] if short and found else found
    return [text((fit(row, width), "$soft")) for row in rows]


def limits(v: View, width: int, height: int) -> Content:
    """Return the interlocks with their distance to the limit, the nearest first.

    Sorted by quarters of the way only, so that rows do not change places with every reading.
    """
    found = sorted((i for i in v.s.interlocks if i.active), key=lambda i: -int(4 * i.near))
    rest = len(found) - (height - 1)
    note = f"{rest} more on page 4" if rest > 0 else ""
    rows = [_limit(v, i, width) for i in found[: height - 1]]
    return lines([rule("distance to limits", width, note), *rows])


def _limit(v: View, i: InterlockView, width: int) -> Content:
    numbers = limit_numbers(v, i)
    near = i.near >= NEAR or i.kind == v.s.trip_kind
    mark = ("!! " if v.plain else "▲ ") if near else ("   " if v.plain else "  ")
    room = 12 if width < ROOM_FOR_TWO else 24
    label = fit(i.label, max(8, width - room - len(numbers) - len(mark) - 2))
    space = max(1, width - len(mark) - len(label) - room - len(numbers) - 1)
    style = "bold $soon" if near else "$soft"
    return text(
        (mark + label + " " * space, style),
        (numbers + " ", style),
        (bar(i.near, room, v.plain, NEAR), "$soon" if near else "$soft"),
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


def heat(v: View, width: int, height: int) -> Content:
    """Return duty, relay, energy, and then the alarms."""
    s = v.s
    relay = {True: "ON", False: "off", None: "unknown"}[s.heat_on]
    numbers = f" {100 * s.duty:3.0f} %  relay {relay}"
    rows = [
        text(
            ("duty ", "$soft"),
            (bar(s.duty, max(SHORTEST_BAR, width - 5 - len(numbers)), v.plain), "$soft"),
            (numbers, "$strong"),
        ),
        text((fit(f"{s.energy_kwh:.2f} kWh · {s.closures_per_h:.0f} closings/h", width), "$soft")),
    ]
    return lines([rule("heat and alarms", width), *rows, *alarm_rows(v, width, height - 3)])


def alarm_rows(v: View, width: int, room: int) -> list[Content]:
    """Return the alarms that fit, unanswered ones first."""
    s = v.s
    calls = unanswered(s)
    found = calls + [a for a in s.alarms if is_acknowledged(a)]
    if not found:
        record = "" if s.record_complete else " RECORD INCOMPLETE"
        return [text(("alarms: none", "$soft"), (record, "bold $soon"))]
    if len(found) > room:
        more = f"{len(found)} alarms, {len(calls)} unanswered: page 5"
        style = f"bold reverse ${_style(calls[0])}" if calls else "$soft"
        return [*(_alarm(v, a, width) for a in found[: room - 1]), text((fit(more, width), style))]
    return [_alarm(v, a, width) for a in found]


def _alarm(v: View, a: AlarmView, width: int) -> Content:
    head = f"{alarm_mark(a, v.plain)} {a.priority} " + ("FIRST " if a.first_out else "")
    short = a.kind.replace("_", " ")
    what = a.reason if len(head) + len(a.reason) <= width else short
    style = "$soft" if is_acknowledged(a) else f"bold ${_style(a)}"
    return text((fit(head + what, width), style))


def alarm_page(v: View, width: int) -> Content:
    """Return every alarm in full."""
    rows = [rule("alarms", width, "a acknowledges · r resets a trip")]
    for a in unanswered(v.s) + [a for a in v.s.alarms if is_acknowledged(a)]:
        style = "$soft" if is_acknowledged(a) else f"bold ${_style(a)}"
        first = " · FIRST CAUSE" if a.first_out else ""
        since = f"at {words.left(a.since_s)} of the run"
        head = f"{alarm_mark(a, v.plain)} {a.priority} · {a.state}{first} · {since}"
        rows += [text((head, style)), text((f"   {sentence(a.reason)}", "$strong"))]
    if not v.s.alarms:
        rows.append(text(("No alarms.", "$soft")))
    if v.s.not_checked:
        rows.append(rule("not checked by software", width))
        rows += [text((f"   {sentence(item)}", "$soft")) for item in v.s.not_checked]
    return lines(rows)


def limit_page(v: View, width: int) -> Content:
    """Return every interlock in its own fixed order, with its note."""
    rows = [rule("all interlocks", width)]
    for i in v.s.interlocks:
        rows.append(_limit(v, i, width))
        if i.note and limit_numbers(v, i) != i.note:
            rows.append(text((f"     {i.note}", "$soft")))
    return lines(rows)


def plan_page(v: View, width: int) -> Content:
    """Return the whole plan, each segment with its words for the operator."""
    rows = [rule("plan", width)]
    for seg in v.s.segments:
        rows.append(_segment(v, seg, width))
        if seg.say:
            rows.append(text((f"     {seg.say}", "$soft")))
    return lines([*rows, *soak_clocks(v, width), *treatment(v, width)])


def far(v: View, width: int, height: int) -> Content:
    """Return state, temperature and time left, as tall as they fit; the temperature grows first."""
    s, face = v.s, words.face(v.s)
    left_s = words.deadline_s(s) if s.waiting is not None else s.segment_left_s
    state = f"bold ${face.style}" if face.style else "$strong"
    shown = [(face.big, state), (f"{v.degrees.number(s.process_c)}{v.degrees.mark}", "$measured")]
    if left_s is not None and s.state in ("running", "held"):
        shown.append((_far_time(left_s), "$strong"))
    return tower(shown, (1, 0, 2), width, height)


def tower(shown: list[Part], order: tuple[int, ...], width: int, height: int) -> Content:
    """Return words in big letters one above another; they grow in turn, in the order given."""
    scales = [1] * len(shown)
    turns = [i for i in order if i < len(shown)]
    grown = True
    while grown:
        grown = False
        for i in turns:
            tried = [scale + (k == i) for k, scale in enumerate(scales)]
            if width_of(shown[i][0], tried[i]) <= width and sum(map(height_of, tried)) <= height:
                scales, grown = tried, True
    rows: list[Content] = []
    for (word, style), scale in zip(shown, scales, strict=True):
        rows += [text((row.center(width).rstrip(), style)) for row in big(word, scale)]
    return lines([text("")] * ((height - len(rows)) // 2) + rows[:height])


def _far_time(seconds: float) -> str:
    return words.left(seconds).upper().removesuffix(" MIN") + (" MIN" if 600 <= round(seconds) < 3570 else "")


def title_of_curve(s: Snapshot, span: str, width: int, note: str) -> Content:
    """Return the curve's title with its legend in the colours of the lines, as many of them as fit."""
    title = f"── {span} " + (f"({note}) " if note else "")
    row = text((title, "$quiet"))
    for word, style in LEGEND:
        if row.cell_length + len(word) <= width:
            row = Content("").join([row, text((word, style))])
    return row


def banner(v: View) -> Content:
    """Return what is said when the picture is old: nobody may act on it."""
    at = words.clock_time(v.s.utc)
    if not v.attached:
        why = f"THE CONTROLLER HAS GONE. Last picture from {at}, {words.left(v.age_s)} ago."
    else:
        why = f"NO NEW DATA FOR {v.age_s:.0f} s. What you see is from {at}."
    return text(
        (
            f"{'!!' if v.plain else '▲'} {why} The heat may be on: look at the oven; isolator: "
            f"{v.s.isolator or 'not named'}.",
            "bold reverse $soon",
        )
    )


def hands(h: Hands, now_s: float, width: int, height: int) -> Content:
    """Return the count from furnace to clamp: the stage and the seconds, as tall as they fit."""
    taken_s = h.taken_s(now_s)
    over = h.allowed_s is not None and taken_s > h.allowed_s
    of = "" if h.allowed_s is None else f" of {h.allowed_s:g} s"
    done = f"SPACE = {h.mark}" + (" – LATE" if h.late(now_s) else "")
    style = "bold $urgent" if h.late(now_s) else "bold $soon" if over else "$strong"
    head = text((f"{h.word}{of}   {done}".center(width), "bold reverse $soon" if over else "bold $strong"))
    words_ = [(h.word.upper(), style), (f"{taken_s:.0f}", style)]
    return lines([head, tower(words_, (1, 0), width, height - 1)])


def too_small(v: View, width: int, height: int, smallest: tuple[int, int]) -> Content:
    """Return what can be said in a terminal that is too small: the state, and how to switch off."""
    s = v.s
    too_small_ = (
        f"This terminal is too small ({width}×{height}): make it at least {smallest[0]}×{smallest[1]}, "
        "or use a smaller font."
    )
    rows = [
        text(
            (f"{words.state_word(s)} {v.degrees.point(s.process_c)}  ", "bold $strong"),
            ("F9 OFF", "bold reverse"),
        ),
        freshness(v),
        text((words.trip_words(s), "bold $urgent")) if s.trip else None,
        text((words.caution(s.isolator), "bold $strong")),
        text((too_small_, "$soft")),
    ]
    return lines([row for row in rows if row is not None])
