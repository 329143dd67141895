"""The picture of the README: the program's own screen, some way into a heat on the simulated oven.

`python -m dashboard.picture`, in `tests/`, prints it. Virtual time, a minute of processor; all data invented.
"""

import asyncio

from dashboard.feed import Wire, text_of

from kilnctl.cli.terminal.select import choose_job, choose_oven
from kilnctl.clock import VirtualClock
from kilnctl.dashboard.app import WatchApp
from kilnctl.heat.runner import Runner
from kilnctl.heat.telling.snapshot_builder import snapshot
from kilnctl.link.snapshot import Snapshot
from kilnctl.rehearsal.dry_run import rehearse

OVEN, JOB = "tempering-oven", "gouge-o1-temper"
UNTIL_S, EVERY_S = 9000, 20
WIDE, HIGH = 100, 26


def heat() -> list[Snapshot]:
    """Rehearse the job; return what a screen would have been shown of it so far."""
    _, oven = choose_oven(OVEN, JOB)
    shown: list[Snapshot] = []

    def look(runner: Runner) -> None:
        if runner.now.elapsed_s < UNTIL_S and int(runner.now.elapsed_s) % EVERY_S == 0:
            shown.append(snapshot(runner.heat, runner.now, len(shown) + 1))

    rehearse(oven, choose_job(JOB, None, None, oven), on_tick=look, seed=1).run()
    return shown


async def screen(shown: list[Snapshot]) -> str:
    """Return what the screen says when it has seen all of it."""
    wire = Wire()
    app = WatchApp(wire, VirtualClock())
    async with app.run_test(size=(WIDE, HIGH)) as pilot:
        for count, one in enumerate(shown):
            wire.put(one)
            if count % EVERY_S == 0:
                await pilot.pause()
        for _ in range(3):  # what grows with its words needs a second look
            await pilot.pause()
            app.redraw()
        return "\n".join(line.rstrip() for line in text_of(app).splitlines())


if __name__ == "__main__":
    print(asyncio.run(screen(heat())))
