"""The plan: segments done, now and to come, the soak clocks, the temper so far, the title of the curve."""

from textwrap import wrap

from textual.content import Content

from kilnctl.dashboard import formatting as words
from kilnctl.dashboard.drawing.text_layout import (
    Part,
    bar,
    first_that_fit,
    fit,
    lines,
    rule,
    spread,
    standing_in,
    text,
)
from kilnctl.dashboard.formatting import SCREEN_ANSWERS
from kilnctl.dashboard.view_state import View
from kilnctl.link.snapshot import SegmentView, Snapshot
from kilnctl.stages import LIVE

FIRST_S = 30.0  # of a temper: less is nothing
TELLING_BAR = 8  # columns: a shorter bar says less than its numbers
ROOMY = 20  # columns of a title for two names
TALL = 12  # rows of the plan from which on everything finds its own row
PREDICTED = "╍predicted "
LEGEND = (
    ("━measured ", "$measured"),
    (PREDICTED, "$ahead"),  # before the thin ones: at 80 columns three names have room
    ("╌set-point ", "$goal"),
    ("·part ", "$part"),
    ("═limit ", "$limit"),
)


def plan(v: View, width: int, height: int) -> Content:
    """Return the segments around the present one, then the soak clocks and the temper so far."""
    short = height < TALL
    tail = soak_clocks(v, width) + treatment(v, width, short)
    room = max(1, height - 1 - len(tail))
    done = sum(seg.ended_s is not None and seg.index != v.s.segment for seg in v.s.segments)
    around = done if v.s.segment is None else v.s.segment
    shown = _window([_segment(v, seg, width) for seg in v.s.segments], around, room)
    title = f"plan: {done} of {len(v.s.segments)} done" if v.s.segments else "no plan"
    head = rule(title, width, _times_named(v, done, width - len(title)))
    rows = [head, *shown, *tail]
    return lines([*rows, *explained(v, width, height - len(rows))][:height])


def _times_named(v: View, done: int, room: int) -> str:
    """Return what the times at the right are: how long a step took, when one to come ends."""
    if v.s.state not in LIVE or v.timeless or done + 1 >= len(v.s.segments):
        return ""
    return "took, ends at" if room > ROOMY and done else "ends at"


def explained(v: View, width: int, room: int) -> list[Content]:
    """Return why the present step is there, and the words of the next one that needs a person; what fits."""
    s, rows = v.s, [text("")]
    if s.segment is None or s.state not in LIVE or s.waiting is not None:
        return []
    why = v.reasons[s.segment] if s.segment < len(v.reasons) else ""
    yours = next((seg for seg in s.segments[s.segment + 1 :] if seg.kind == "operator"), None)
    said = {"why this step": why, f"then you: {yours.label}" if yours else "": yours.say if yours else ""}
    for title, words_ in said.items():
        block = [text((row, "$soft")) for row in wrap(words_.removesuffix(SCREEN_ANSWERS), width)]
        if block and len(rows) + len(block) + 1 <= room:
            rows += [rule(title, width), *block]
    return rows if len(rows) > 1 else []


def _window(rows: list[Content], around: int, room: int) -> list[Content]:
    before = 1 if room > 2 else 0
    first = max(0, min(around - before, len(rows) - room))
    return rows[first : first + room]


def _segment(v: View, seg: SegmentView, width: int) -> Content:
    running = seg.index == v.s.segment and v.s.state in LIVE
    mark, style = _progress(seg, running, v)
    when = _when(v, seg, running)
    choices = [f"{mark} {seg.index + 1} {what}" for what in segment_lines(v, seg)]
    if running and len(choices[-1]) + len(when) + 2 > width:
        when = when.removesuffix(" left")
    room = width - len(when) - (2 if when else 0)
    what = next((choice for choice in choices if len(choice) <= room), fit(choices[-1], room))
    return spread(text((what, style)), text((when, style)), width)


def _progress(seg: SegmentView, running: bool, v: View) -> Part:
    if running:
        return (">" if v.plain else "▶"), "bold $strong"
    if seg.index == v.s.segment and v.s.state not in LIVE:  # the heat broke off in it
        return ("X" if v.plain else "✖"), "bold $urgent" if v.s.trip else "bold $strong"
    if seg.ended_s is not None:
        return ("+" if v.plain else "✓"), "$quiet"
    return ("." if v.plain else "·"), "$soft"


def segment_lines(v: View, seg: SegmentView) -> list[str]:
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
        known = v.s.segment_left_s is not None and not v.timeless
        return f"{words.left(v.s.segment_left_s)} left" if known else "was here" if v.stale else "now"
    if seg.ended_s is not None and seg.started_s is not None:
        return words.left(seg.ended_s - seg.started_s)
    if seg.predicted_end_s is None or v.s.state not in LIVE or v.timeless:
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
    numbers, label = f" {words.left(done_s)} of {words.left(goal_s)}", f"soak {name} "
    room = width - len(label) - len(numbers)
    if room < TELLING_BAR:
        label = label if room >= 0 else f"{name} "
        if len(label) + len(numbers) > width:
            numbers = numbers.replace(" min", "")
        return spread(text((label, "$soft")), text((numbers.strip(), "$strong")), width)
    return text(
        (label, "$soft"), (bar(done_s / max(goal_s, 1.0), room, plain), "$strong"), (numbers, "$strong")
    )


def treatment(v: View, width: int, short: bool = False) -> list[Content]:
    """Return the temper equivalence so far and the hardness range that the model predicts.

    Where there is one row only, it shows the smaller of the equivalences: nobody is told too much.
    """
    s, found = v.s, []
    if max(s.temper_equivalent.values(), default=0.0) < FIRST_S:
        pass  # nothing has been tempered yet
    elif short:
        found.append(f"temper {words.left(min(s.temper_equivalent.values()))}")
    else:
        done = dict.fromkeys(words.left(done_s) for done_s in sorted(s.temper_equivalent.values()))
        said = f"temper so far {' to '.join(done)}"
        found.append(said if len(said) <= width else f"temper so far {next(iter(done))}")
    if s.predicted_hrc is not None:
        low, high = s.predicted_hrc
        word = (
            "predicted" if s.state == "complete" else "aims at"
        )  # of a heat that goes on nothing is known yet
        found.append(f"{word} {low:.0f}–{high:.0f} HRC")
    if short and found:
        brief = [row.replace("aims at", "aim") for row in found]
        found = [first_that_fit(brief, width) or brief[0]]
    return [text((fit(row, width), "$soft")) for row in found]


def plan_page(v: View, width: int) -> Content:
    """Return the whole plan; below a row stand words for the operator that it has no room for, and why."""
    rows = [rule("plan", width)]
    for seg in v.s.segments:
        rows.append(_segment(v, seg, width))
        said = seg.say.removesuffix(SCREEN_ANSWERS)
        if said and said not in rows[-1].plain:
            rows += standing_in(said, width, 5, "$soft")
        if seg.index < len(v.reasons) and v.reasons[seg.index]:
            rows += standing_in(f"why: {v.reasons[seg.index]}", width, 5, "$quiet")
    return lines([*rows, *soak_clocks(v, width), *treatment(v, width)])


def title_of_curve(s: Snapshot, span: str, width: int, note: str) -> Content:
    """Return the curve's title with its legend in the colours of the lines, as many of them as fit."""
    title = f"── {span} " + (f"({note}) " if note else "")
    row = text((title, "$quiet"))
    edge = (("~thin edge ", "$part"),) if s.skin_c is not None else ()
    for word, style in (*LEGEND[:4], *edge, *LEGEND[4:]):
        drawn = word != PREDICTED or (s.state in LIVE and s.prediction)
        if drawn and row.cell_length + len(word) <= width:
            row = Content("").join([row, text((word, style))])
    return row
