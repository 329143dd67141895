"""Before each unattended heat: does the board still drop the output by itself? It takes some 15 s."""

from kilnctl.clock import Clock
from kilnctl.commissioning import drills, results
from kilnctl.config.oven import Oven
from kilnctl.devices.roles import Hands
from kilnctl.errors import RunRefused
from kilnctl.logbook.book import Logbook
from kilnctl.logbook.entries import CommissioningStep
from kilnctl.runtime.steps import find_step

STEP = "dead-man test"


def self_test(book: Logbook, oven: Oven, oven_text: str, hands: Hands, clock: Clock) -> CommissioningStep:
    """Measure the dead-man, store it, and return what was stored: it renews the date of its set-up step.

    Raises RunRefused where the output held too long (stored too, as failed), DeviceError where the oven
    cannot be reached. The heat is off afterwards.
    """
    found = drills.run("dead_man", oven, hands, clock)
    step, now_s = find_step(STEP), clock.utc().timestamp()
    kept = results.keep(
        book, oven, oven_text, step, found.passed, now_s, value=found.value, note=f"self-test: {found.line}"
    )
    if not kept.passed:
        raise RunRefused(f"the dead-man failed its self-test: {found.line}; nothing more is heated")
    return kept
