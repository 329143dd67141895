"""Two ovens on one large screen."""

import dataclasses

from dashboard.feed import Wire, flat, heating, ready, tempering, text_of, tripped

from kilnctl.clock import VirtualClock
from kilnctl.dashboard.app import WatchApp
from kilnctl.dashboard.drawing.big_font import big
from kilnctl.dashboard.panels import header, todo
from kilnctl.dashboard.panels.curve import HeatCurve
from kilnctl.dashboard.view_state import View, most_urgent


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


def test_heat_that_may_be_on_in_another_oven_is_said_at_80_columns() -> None:
    """A row of "tripped" and "needs you: press o" hid that hands were needed at the isolator."""
    on = dataclasses.replace(tripped(), off_read_back=False, heat_on=True, still_on=True)
    assert "NOT OFF" in header.others([View(on)], 78).plain
    assert "tripped" in header.others([View(tripped())], 78).plain
    shown = View(tempering(), elsewhere=most_urgent([ready(), on]))
    assert "hardening-furnace: THE HEAT IS STILL ON. CUT THE POWER NOW" in todo.now(shown, 78).plain
    waits = View(tempering(), elsewhere=most_urgent([heating(), ready()]))
    assert "hardening-furnace needs you: press o." in todo.now(waits, 78).plain
