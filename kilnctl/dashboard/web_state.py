"""What the pages of a browser say beside the screen: every oven in a few words, as plain data."""

from collections.abc import Sequence
from typing import Any

from kilnctl.dashboard import formatting
from kilnctl.dashboard.panels import todo
from kilnctl.dashboard.view_state import View, calls

WIDE = 1000  # of the words to a person: each sentence is a row, and a page breaks it where it likes


def state(views: Sequence[View], gone: str = "") -> dict[str, Any]:
    """Return all ovens; `gone` is what is known since the controller has gone, with what to do."""
    ovens = [_oven(v) for v in views]
    if gone:
        return {"ovens": ovens, "gone": gone, "calls": True, "title": "NO CONTROLLER", "say": gone}
    called = any(oven["calls"] for oven in ovens)
    title = " | ".join(oven["title"] for oven in ovens) or "waiting for the controller"
    say = " ".join(oven["say"] for oven in ovens)
    return {"ovens": ovens, "gone": "", "calls": called, "title": _called(title, called), "say": say}


def _called(title: str, called: bool) -> str:
    return f"CALLS YOU {title}" if called else title


def _oven(v: View) -> dict[str, Any]:
    s, face = v.s, v.face
    at = v.degrees.point(s.process_c)
    at = f"was {at}" if v.stale else at
    word = face.big if v.stale or s.trip else formatting.state_word(s)
    old = v.stale and not s.trip  # nobody may act on an old call, and a page has no grey for it
    rows = [" ".join(row.split()) for row in todo.now(v, WIDE).plain.splitlines()]
    rows = [f"You: {todo.OUT_OF_DATE}"] if old else [row for row in rows if row]
    return {
        "oven": s.oven,
        "word": face.big,
        "shape": face.shape,
        "style": face.style or "calm",
        "temperature": at,
        "goal": "" if s.goal_c is None or v.stale else f"goal {v.degrees.point(s.goal_c)}",
        "left": "" if s.total_left_s is None or v.timeless else f"{formatting.left(s.total_left_s)} left",
        "rows": rows,
        "caution": formatting.caution(s.isolator),
        "part": s.part,
        "simulated": s.simulated,
        "calls": calls(s) or v.banner,
        "title": f"{face.shape} {at} {word}",
        "say": f"{s.oven}: {word}. {' '.join(rows)}",
    }
