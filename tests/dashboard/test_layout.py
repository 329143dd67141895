"""Where everything stands, at three sizes: compared with a drawing in text, whatever the colours are.

`RENEW_LAYOUT=1 python -m pytest tests/dashboard/test_layout.py` draws it anew, to be looked at in the diff.
"""

import os
from pathlib import Path

import pytest
from dashboard.feed import Wire, heating, ready, tempering, text_of, tripped
from textual.widget import Widget

from kilnctl.clock import VirtualClock
from kilnctl.dashboard.app import WatchApp
from kilnctl.link.snapshot import Snapshot

DRAWING = Path(__file__).with_name("layout.txt")
SIZES = [(80, 24), (120, 35), (200, 60)]
LABELS = ("measured °C", "goal °C", "set-point", "Next:", "── plan", "── distance", "── heat", "duty", "F9 ")
INSIDE = ("margin-left", "plot", "margin-bottom")  # of the chart: the library's affair
# name: pictures, keys that lead there, keys that lead back
SCREENS: dict[str, tuple[tuple[Snapshot, ...], tuple[str, ...], tuple[str, ...]]] = {
    "heating": ((heating(),), (), ()),
    "far view": ((heating(),), ("f",), ("f",)),
    "page of the limits": ((heating(),), ("4",), ("1",)),
    "tripped, with a second oven": ((tripped(), tempering()), (), ()),
    "ready to quench": ((ready(),), (), ()),
    "count of the hands": ((ready(),), ("space",), ()),
}
LARGEST = ("heating", "tripped, with a second oven")  # what stands elsewhere where there is most room


async def drawn(size: tuple[int, int]) -> list[str]:
    """Return each screen's parts with place and size, then its labels with column and row."""
    wire, blocks = Wire(), []
    app = WatchApp(wire, VirtualClock())
    async with app.run_test(size=size) as pilot:
        for name, (snapshots, keys, back) in SCREENS.items():
            if size == SIZES[-1] and name not in LARGEST:
                continue
            app.gallery.newest.clear()
            app.gallery.oven = snapshots[0].oven
            for snapshot in snapshots:
                wire.put(snapshot)
            await pilot.pause()
            await pilot.press(*keys)
            for _ in range(3):  # what grows with its words needs a second look
                app.redraw()
                await pilot.pause()
            parts = [_part(w) for w in app.screen.query(Widget) if w.id and w.id not in INSIDE and _seen(w)]
            rows = text_of(app).splitlines()
            found = [
                (y, row.find(label), label) for y, row in enumerate(rows) for label in LABELS if label in row
            ]
            labels = [f"  '{label}' at {x},{y}" for y, x, label in found]
            blocks.append("\n".join([f"{name}, {size[0]} x {size[1]}", *parts, *labels]))
            await pilot.press(*back)
    return blocks


def _seen(widget: Widget) -> bool:
    return (
        all(w.display for w in widget.ancestors_with_self if isinstance(w, Widget)) and widget.size.area > 0
    )


def _part(widget: Widget) -> str:
    r = widget.region
    return f"  {widget.id}: {r.width} x {r.height} at {r.x},{r.y}"


@pytest.mark.parametrize("size", SIZES)
async def test_everything_stands_where_it_was(size: tuple[int, int]) -> None:
    blocks = await drawn(size)
    if os.environ.get("RENEW_LAYOUT"):
        others = [b for b in _drawing() if not b.splitlines()[0].endswith(f", {size[0]} x {size[1]}")]
        DRAWING.write_text("\n\n".join([*others, *blocks]) + "\n", encoding="utf-8")
    known = {block.splitlines()[0]: block for block in _drawing()}
    for block in blocks:
        assert block == known[block.splitlines()[0]]


def _drawing() -> list[str]:
    return DRAWING.read_text(encoding="utf-8").strip().split("\n\n") if DRAWING.exists() else []


def test_the_drawing_keeps_the_promises() -> None:
    """State, temperature and goal stand in the same place on every page; off and the caution always there."""
    blocks = [b.splitlines() for b in _drawing()]
    assert len(blocks) == len(SCREENS) * (len(SIZES) - 1) + len(LARGEST)
    for head, *rows in blocks:
        width, height = (int(n) for n in head.rpartition(", ")[2].split(" x "))
        assert any(row.startswith("  caution: ") for row in rows), head
        assert f"  'F9 ' at 1,{height - 1}" in rows, head
        for row in rows:
            if ": " in row:
                size, _, place = row.rpartition(": ")[2].partition(" at ")
                (w, h), (x, y) = (map(int, s.split(sep)) for s, sep in ((size, " x "), (place, ",")))
                assert x + w <= width, row
                assert y + h <= height or "-text" in row, row
