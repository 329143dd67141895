"""Numbers told by a lamp (or horn) of the oven: one long call, then each number as so many short ones.

Some boards let an output rest after each off, and refuse it meanwhile: such a call is none, and all is told
again at a pace that the board can follow. Others refuse all since their watchdog has tripped: that is armed
for the call, heat off, and fed while it lasts. No board is armed that takes the call as it is.
"""

from collections.abc import Callable, Iterable

from kilnctl.clock import Clock
from kilnctl.config.oven import Oven, Switching
from kilnctl.devices.interfaces import OvenIO
from kilnctl.errors import RunRefused

NUMBERS, MOST = 3, 5  # one in 125 guesses
FLASH_S, BETWEEN_S = 0.4, 2.0
BEGIN_S = 2.0
READY_S = 4.0  # to look up from the screen, before the first call
RESTS_S = (FLASH_S, 2.5, 5.0)  # how long an output is off between calls, tried in turn
LATE_S = 0.6  # so much longer a call may be and still be told from a long one
EACH = 2  # times at one pace: an answer may be lost
OFFS, BEFORE_ANEW_S = 5, 0.5  # how often off and the lamp's off are tried, and how long between
FEED_S = 0.4  # a board drops after more than a second
MARGIN_S = 0.2  # of a rest that the oven file tells: the board's clock is not this one
USUAL_S = Switching(kind="solid-state").min_off_s  # what a file has that tells no rest


def rests_to_try_s(oven: Oven, shown_by: str) -> tuple[float, ...]:
    """Return the rests to try, first the one that the oven file tells of the heater's board."""
    output = oven.output.lamp if shown_by == "lamp" else oven.output.horn
    told = output is not None and output.device == oven.output.heater.device
    told = told and oven.switching.min_off_s > USUAL_S
    least_s = oven.switching.min_off_s + MARGIN_S if told else 0.0
    if not FLASH_S < least_s < RESTS_S[-1]:
        return RESTS_S  # a longer one spares a contactor, and says nothing of the board
    return (least_s, *(one for one in RESTS_S if one > least_s))


def show_at_its_pace(
    oven_io: OvenIO, clock: Clock, code: str, shown_by: str, rests_s: tuple[float, ...],
    say: Callable[[str], object],
) -> tuple[float, ...]:  # fmt: skip
    """Show a code anew where a call fails, in the end slower; return the rests that are left to try.

    Raises RunRefused where the slowest fails too, or the heat is not read as off.
    """
    armed = False
    for tries, rest_s in enumerate(every := [rest for rest in rests_s for _ in range(EACH)], 1):
        if not (failed := show(oven_io, clock, code, shown_by, rest_s, armed)):
            return tuple(dict.fromkeys(every[tries - 1 :]))
        if tries < len(every):
            armed = _made_ready(oven_io, clock, failed)
            how = ", slower" if every[tries] > rest_s else ""
            how += ", the heat off and the board's watchdog armed for it" if armed else ""
            say(f"A call failed: {failed}. It does not count: all of it again{how}.")
            _pause(oven_io, clock, every[tries], armed)
    cure = "right after its watchdog was armed too: " if armed else ""
    raise RunRefused(
        f"output.{shown_by} cannot be the {shown_by} as it is, its board refuses calls ({failed}), {cure}"
        "do what its own list says of that, or switch its supply off and on; or put the "
        f"{shown_by} at another output"
    )


def _called(oven_io: OvenIO, clock: Clock, on: bool, shown_by: str) -> str:
    """Switch lamp or horn; a word that failed is sent once more, if the call can still be counted then."""
    horn, lamp, began_s = on and shown_by == "horn", on and shown_by == "lamp", clock.real_s()
    if failed := oven_io.sound(horn, lamp):
        oven_io.scan(clock.now_s())
        again = oven_io.sound(horn, lamp)
        return failed if again or clock.real_s() - began_s > LATE_S else ""
    return ""


def _made_ready(oven_io: OvenIO, clock: Clock, failed: str) -> bool:
    """After a call that failed: off, a new look, the board armed; return whether it must be fed now."""
    if not _tried(oven_io, clock, oven_io.off):
        raise RunRefused(f"the heat could not be read as off after a call that failed ({failed})")
    return oven_io.arm_for_calls()


def _tried(oven_io: OvenIO, clock: Clock, done: Callable[[], bool]) -> bool:
    """Try something a few times; the look before the next one greets a board that was gone, off first."""
    for left in reversed(range(OFFS)):
        if done():
            return True
        if left:
            clock.pause(BEFORE_ANEW_S)
            oven_io.off()
            oven_io.scan(clock.now_s())
    return False


def _pause(oven_io: OvenIO, clock: Clock, pause_s: float, fed: bool) -> None:
    """Wait, and meanwhile feed the board where it must be `fed`."""
    end_s = clock.real_s() + pause_s
    while (left_s := end_s - clock.real_s()) > 0.001:
        if fed and not oven_io.feed():
            oven_io.scan(clock.now_s())  # a board that has missed a word is asked no more before a look
        clock.pause(min(left_s, FEED_S) if fed else left_s)


def what_to_look_at(oven: Oven, shown_by: str, rest_s: float) -> str:
    """Say where the numbers come before they come: a second window on the computer shows nothing of them."""
    output = oven.output.lamp if shown_by == "lamp" else oven.output.horn
    assert output is not None
    seen = "what is wired to it, or the board's own light at that output, or a meter on its contact"
    heard = "what is wired to it, or see the board's own light at that output"
    sense = f"Look at {seen}" if shown_by == "lamp" else f"Hear {heard}"
    most_s = sum(for_s + off_s for for_s, off_s in _calls(str(MOST) * NUMBERS, rest_s))
    return (
        f"At the oven, output.{shown_by} ({output.where} of {output.device}) calls once you have said that "
        f"you look, once long; then it gives {NUMBERS} numbers, each as so many short calls, then a pause: "
        f"{most_s:.0f} s at most. {sense}. "
        "Nothing of it is on this screen. The question after it waits."
    )


def _calls(code: str, rest_s: float) -> Iterable[tuple[float, float]]:
    """Yield how long each call is on, then off: one long, then each digit as so many short ones."""
    between_s = max(BETWEEN_S, 2.0 * rest_s)
    yield BEGIN_S, between_s
    for digit in map(int, code):
        yield from [(FLASH_S, rest_s)] * (digit - 1)
        yield FLASH_S, rest_s + between_s


def show(
    oven_io: OvenIO, clock: Clock, code: str, shown_by: str, rest_s: float = FLASH_S, fed: bool = False
) -> str:
    """Call once long, then each digit as so many short calls with a pause after it; the output ends off.

    Return what the board said in place of doing it, empty where it took every call; the first one that it
    refuses ends it.
    """
    try:
        for for_s, off_s in _calls(code, rest_s):
            for on, pause_s in ((True, for_s), (False, off_s)):
                if failed := _called(oven_io, clock, on, shown_by):
                    return failed
                _pause(oven_io, clock, pause_s, fed)
        return ""
    finally:
        _tried(oven_io, clock, lambda: not oven_io.sound(horn=False, lamp=False))
