"""The page behind `?`: keys in three groups, marks, colours, what each limit means, where the guide is."""

from textual.content import Content

from kilnctl.dashboard import formatting as words
from kilnctl.dashboard.drawing.text_layout import lines, rule, text
from kilnctl.dashboard.keys import HEATING_ACTIONS, KEYS, Key
from kilnctl.dashboard.panels.limit_meanings import MEANINGS
from kilnctl.dashboard.view_state import View

LEAVING = ("leave", "help")
COLOURS = (
    ("grey", "$soft", "all is well"),
    ("reversed", "reverse $call", "you are needed: load, quench, clamp"),
    ("blue", "$later", "good to know; no hurry"),
    ("amber", "$soon", "act soon, or data is old"),
    ("red", "$urgent", "act now"),
)


def help_page(v: View, width: int) -> Content:
    """Return the help in one column that scrolls."""
    now = [Key("F9", "off", "", "Heat off, every oven, at once; asks nothing"), *_keys(HEATING_ACTIONS)]
    look = [k for k in KEYS if k.key and k.action not in (*HEATING_ACTIONS, *LEAVING)]
    look.append(
        Key("← →", "cursor", "", "Read the curve, with SHIFT in larger steps; or point the mouse; Esc ends")
    )
    rows = [rule("keys: now", width), *map(_row, now)]
    rows += [rule("keys: look", width), *map(_row, look)]
    rows += [rule("keys: leave", width), *map(_row, _keys(LEAVING))]
    rows += [rule("marks of the state", width), *_marks(v), rule("colours", width)]
    rows += [
        text("  ", (f"{name}", f"bold {style}"), (" " * (10 - len(name)) + said, "$strong"))
        for name, style, said in COLOURS
    ]
    rows.append(rule("what each limit means", width))
    for limit in v.s.interlocks:
        meaning = MEANINGS.get(limit.kind, "")
        rows.append(text((f"  {limit.label:<26}", "$strong"), (meaning, "$soft")))
    guide = "  In another terminal: kilnctl guide"
    return lines([*rows, rule("the guide", width), text((guide, "$strong"))])


def _keys(actions: tuple[str, ...]) -> list[Key]:
    return [k for k in KEYS if k.action in actions]


def _row(key: Key) -> Content:
    name = key.shown or key.key or "^p"
    where = "" if key.key or key.action == "cursor" else ": choose it there"
    return text((f"  {name:<8}", "bold $strong"), (f"{key.help}{where}", "$soft"))


def _marks(v: View) -> list[Content]:
    late = words.LATE.values()
    found = [(words.shape(face, v.plain), name) for name, face in words.FACES.items() if name not in late]
    cells = [f"{mark} {name}" for mark, name in found]
    return [text((f"  {a:<26}{b}", "$soft")) for a, b in zip(cells[::2], [*cells[1::2], ""], strict=False)]
