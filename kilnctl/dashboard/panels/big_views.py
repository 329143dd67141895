"""Letters as tall as the terminal allows: the far view, and the count of the hands."""

from textual.content import Content

from kilnctl.dashboard import formatting
from kilnctl.dashboard.drawing.big_font import big, height_of, width_of
from kilnctl.dashboard.drawing.text_layout import Part, bar, lines, text
from kilnctl.dashboard.panels.big_band import coming
from kilnctl.dashboard.quench_timer import QuenchTimer
from kilnctl.dashboard.view_state import View
from kilnctl.link.snapshot import Snapshot
from kilnctl.stages import LIVE


def far(v: View, width: int, height: int, timed: bool = True) -> Content:
    """Return state, temperature and time left, as tall as they fit; the temperature grows first."""
    s, face = v.s, v.face
    left_s = formatting.deadline_s(s) if s.waiting is not None else s.segment_left_s
    state = (
        "bold reverse $call" if face.style == "call" else f"bold ${face.style}" if face.style else "$strong"
    )
    at = f"{v.degrees.number(s.process_c)}{v.degrees.mark}"
    shown = [(face.big, state), (f"WAS {at}" if v.stale else at, "$measured")]
    if timed and left_s is not None and s.state in LIVE and not v.timeless:
        shown.append((_time(s, left_s), "$strong"))
    return tower(shown, (1, 0, 2), width, height, "" if s.waiting is not None else coming(v)[0])


def _time(s: Snapshot, left_s: float) -> str:
    """Return the time that counts, with its unit: no clock time. At a quench how long it has waited."""
    if s.waiting is None:
        return formatting.left(left_s).upper()
    if s.waiting.step == "quench":
        return f"FOR {formatting.left(s.elapsed_s - s.waiting.since_s).upper()}"
    return f"END IN {formatting.left(left_s).upper()}"


def waited(v: View, width: int, height: int) -> Content:
    """Return the time to a quench, then how long it has been ready: seconds count, the curve does not."""
    s = v.s
    caption, seconds = "quench in", formatting.quench_in_s(s)
    if s.waiting is not None:
        caption, seconds = "ready for", s.elapsed_s - s.waiting.since_s
    if seconds is None:
        return Content("")
    style = f"bold ${v.face.style}" if v.face.style else "bold $strong"
    said = tower([(formatting.left(seconds).upper(), style)], (0,), width, height - 1)
    return lines([text((caption.center(width), "$soft")), said])


def tower(shown: list[Part], order: tuple[int, ...], width: int, height: int, third: str = "") -> Content:
    """Return words in big letters one above another; they grow in turn, in the order given.

    A row is left between them where there is room: letters that touch cannot be read from afar. The one
    above the third says in small letters what it is.
    """
    scales, between = [1] * len(shown), len(shown) - 1
    if len(shown) * height_of(1) + between > height:
        between = 0
    turns = [i for i in order if i < len(shown)]
    grown = True
    while grown:
        grown = False
        for i in turns:
            tried = [scale + (k == i) for k, scale in enumerate(scales)]
            if width_of(shown[i][0], tried[i]) <= width and sum(map(height_of, tried)) + between <= height:
                scales, grown = tried, True
    rows: list[Content] = []
    for (word, style), scale in zip(shown, scales, strict=True):
        caption = third.center(width) if len(shown) > 2 and word == shown[2][0] else ""
        rows += [text((caption, "$soft"))] if rows and between else []
        centred = [row.center(width) for row in big(word, scale)]
        rows += [text((row if "reverse" in style else row.rstrip(), style)) for row in centred]
    return lines([text("")] * ((height - len(rows)) // 2) + rows[:height])


def hands(h: QuenchTimer, now_s: float, plain: bool, width: int, height: int) -> Content:
    """Return the count from furnace to hand-warm: the stage, and its time as tall as it fits."""
    taken_s, late = h.taken_s(now_s), h.late(now_s)
    over = h.allowed_s is not None and taken_s > h.allowed_s
    style = "bold $urgent" if late else "bold $soon" if over else "$strong"
    shown = [(h.word.upper(), style), (_counted(taken_s), style)]
    rows = [
        text(
            (
                f" {_allowed(h)}{' LATE.' if late else ''} SPACE when it is {h.mark}. ".center(width),
                _head(late, over),
            )
        ),
        tower(shown, (1,), width, height - 2),
    ]
    if h.allowed_s is not None:
        rows.append(text((bar(taken_s / h.allowed_s, width, plain), style)))
    return lines(rows)


def _allowed(h: QuenchTimer) -> str:
    word = h.word.capitalize()
    if h.allowed_s is None:
        return f"{word}."
    meant = {"transfer": "at most", "hand-warm": "about"}.get(h.word, "for")
    return f"{word}: {meant} {_seconds(h.allowed_s)}."


def _head(late: bool, over: bool) -> str:
    return f"bold reverse ${'urgent' if late else 'soon'}" if over else "bold $strong"


def _seconds(seconds: float) -> str:
    if seconds >= 100.0:
        return formatting.left(seconds)
    return f"{seconds:.{0 if seconds >= 10.0 else 1}f} s"


def _counted(seconds: float) -> str:
    return f"{seconds:.0f}" if seconds < 100.0 else f"{seconds // 60:.0f}:{seconds % 60:02.0f}"
