"""Two ovens on one large screen."""

import dataclasses

from dashboard.feed import Wire, flat, heating, text_of, tripped

from kilnctl.clock import VirtualClock
from kilnctl.dashboard.app import WatchApp
from kilnctl.dashboard.drawing.big_font import big
from kilnctl.dashboard.panels.curve import HeatCurve


async def test_two_ovens_stand_side_by_side_where_there_is_room() -> None:
    wire = Wire()
    app = WatchApp(wire, VirtualClock())
    async with app.run_test(size=(160, 45)) as pilot:
        for s in (heating(), dataclasses.replace(tripped(), oven="tempering-oven")):
            wire.put(s)
        await pilot.pause()
        app.redraw()
        await pilot.pause()
        app.redraw()
        await pilot.pause()
        rows = text_of(app).splitlines()
        for word, half in (("HEATING", slice(0, 80)), ("TRIPPED", slice(80, 160))):
            assert all(a in row[half] for a, row in zip(big(word), rows[2:], strict=False)), word
        assert "HEAT IS OFF, read back" in flat("\n".join(row[80:] for row in rows))
        assert len(app.screen.query(HeatCurve)) == 2
        await pilot.press("4")
        await pilot.pause()
        assert "TRIPPED" not in flat(text_of(app))
        assert text_of(app).splitlines()[1].strip().startswith("tempering-oven"), "a row again"
