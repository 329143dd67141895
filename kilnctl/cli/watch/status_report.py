"""What runs, what starts, and what heats have left on the disk, with what to do about it."""

from collections.abc import Collection, Iterable
from dataclasses import dataclass, replace
from datetime import UTC, datetime

from kilnctl.clock import minute_of
from kilnctl.config import home
from kilnctl.errors import NoController, RecordError
from kilnctl.link.client import LinkClient
from kilnctl.link.snapshot import Command, Snapshot
from kilnctl.marks import hot_ovens as hot
from kilnctl.marks import latch, running_ovens, supervisor_report
from kilnctl.marks.hot_ovens import Hot
from kilnctl.marks.latch import Latched
from kilnctl.marks.process_identity import drill_lock, locked
from kilnctl.stages import HOT_C
from kilnctl.units import say_point

ANSWER_S = 10.0  # a controller that takes up a job answers nothing else meanwhile


@dataclass(frozen=True, slots=True)
class ShopStatus:
    """The running ovens, those whose first picture is still to come, and what broke off.

    `drilled` names ovens that a set-up step is at, `not_off` ovens whose heat was never read back as off,
    `latched` what waits for a person, `hot` the ovens that nobody watches and nobody has seen cold since
    their last heat.
    """

    ovens: dict[str, Snapshot]
    starting: tuple[str, ...] = ()
    drilled: tuple[str, ...] = ()
    not_off: tuple[str, ...] = ()
    latched: tuple[Latched, ...] = ()
    hot: tuple[Hot, ...] = ()


def shop_status(who: str) -> ShopStatus:
    """Ask the controller, then judge the disk by its answer. Raises LinkError when it does not answer.

    A heat is latched and marked on the disk before it begins and until it has ended, so what lies there
    speaks of an interruption only where no controller holds that heat. The latches are read before the
    controller is asked and once more after it: a heat that begins or ends meanwhile is no interruption.
    """
    before, marked = latch.latched_ovens(), running_ovens.heating()
    try:
        with LinkClient(home.socket_path()) as client:
            ovens = client.newest_of_all()
            held = client.ask(Command("status", who=who), ANSWER_S).data.get("ovens", {})
    except NoController:
        return without_controller(before)
    busy = {name for name, said in held.items() if said["busy"]}
    seen = {name for name, said in held.items() if said.get("holds", True)}
    ovens = {name: s for name, s in ovens.items() if name in seen or name not in held}  # else it is old
    latched = (said for said in before if said.state != "armed" or said.oven not in busy)
    # Torn, of nobody living, or left by this controller; a heat that begins is not held yet.
    unread = {n for n, id_ in marked.items() if not id_ or running_ovens.orphaned(n) or n in held} - seen
    not_off = tuple(n for n, id_ in running_ovens.heating().items() if n in unread and marked[n] == id_)
    starting = tuple(sorted(busy - set(ovens)))
    return ShopStatus(ovens, starting, not_off=not_off, latched=_still(latched), hot=_unwatched(seen))


def without_controller(latched: list[Latched] | None = None) -> ShopStatus:
    """Return what the disk says when nobody runs anything."""
    found = latch.latched_ovens() if latched is None else latched
    marked = running_ovens.heating()
    words = supervisor_report.of(marked)
    told = words.off if words else {}  # a drill that is over, and whose oven was not read off
    drilled = tuple(n for n in marked if told.get(n) is not False and locked(home.home() / drill_lock(n)))
    not_off = tuple(name for name in marked if name not in drilled)
    return ShopStatus({}, drilled=drilled, not_off=not_off, latched=_still(found), hot=_unwatched(()))


def _unwatched(watched: Collection[str]) -> tuple[Hot, ...]:
    """Return the signs of ovens that no controller watches, with a last reading where one is known."""
    return tuple(_with_reading(said) for said in hot.signed() if said.oven not in watched)


def _with_reading(hot: Hot) -> Hot:
    if hot.run is None or hot.at_c is not None or not home.logbook_path().is_file():
        return hot
    from kilnctl.logbook.readers import Reader  # loads numpy

    try:
        with Reader(home.logbook_path()) as reader:
            newest, read = reader.newest(hot.run), reader.newest_reading(hot.run)
    except RecordError:
        return hot
    if read is None:
        return hot
    at = datetime.fromtimestamp(read.utc_s, UTC).isoformat(timespec="seconds")
    return replace(hot, at_c=read.process_c, utc=at, of_record=read == newest)


def _still(latched: Iterable[Latched]) -> tuple[Latched, ...]:
    return tuple(said for said in latched if latch.read(said.oven) == said)


def lines(shop: ShopStatus) -> list[str]:
    """Say what broke off and what to do, the ovens that may be hot first; empty where nothing did."""
    said = [f"{n}: a set-up step is under way and may heat; `kilnctl off` ends it" for n in shop.drilled]
    if shop.not_off:
        said.append(
            f"a heat was interrupted and its off was never read back: {', '.join(shop.not_off)}; "
            "`kilnctl off` tries again; if the oven is hot, cut the power by hand"
        )
        words = supervisor_report.of(running_ovens.heating())
        said += [f"  {words.line()}"] if words else []
    said += [_hot(sign, sign.oven in shop.not_off) for sign in shop.hot]
    return said + [_latched(latched) for latched in shop.latched]


def _hot(hot: Hot, on: bool) -> str:
    """Say of an oven that it may be hot, how hot it was last, and how it is watched again."""
    when = "at the last reading" if not hot.of_record else "when the heat ended"
    what = "nobody knows how hot it got" if hot.at_c is None else f"{say_point(hot.at_c)} {when}"
    since = f", {minute_of(hot.utc)}" if hot.utc else ""
    again = f"`kilnctl run --record-only --oven {hot.oven}` watches it"
    was_cold = hot.at_c is not None and hot.at_c < HOT_C
    if hot.of_record and was_cold:
        state = "" if on else "off, "
        unseen = "nothing has watched it since, and it may be hotter"
        return f"{hot.oven}: {state}{what}{since}; {unseen}. Keep it shut; {again}"
    state = "" if on else "off, but "
    unseen = "nothing was read since" if was_cold else f"not yet seen below {say_point(HOT_C)}"
    return (
        f"{hot.oven}: {state}it may be HOT: {what}{since}; {unseen}; nothing is watching it. "
        f"Keep it shut; {again}"
    )


def _latched(latched: Latched) -> str:
    go_on = f", or see what can go on: `kilnctl run --from {latched.run}`" if latched.state == "armed" else ""
    return f"latched: {latched.line()}; find the cause, then `kilnctl reset --oven {latched.oven}`{go_on}"
