"""The processes as step machines: one step is what a process does between two looks at the world.

Every decision is asked of the project's own pure functions; a step only carries it out. A write may fail, or
be torn by a kill; which of that happens is for the explorer to try.
"""

from collections.abc import Iterator
from typing import Any

from explorer import stamps
from explorer.world import (
    CLEAR,
    DEAD,
    DRILL,
    INTERRUPTED,
    LIVES,
    MAIN,
    OVENS,
    STOPPED,
    TOLD,
    TRIPPED,
    Cut,
    Reset,
    Start,
    Station,
    World,
    at_work,
    driver,
    locked,
    place,
    put,
    taken_by,
    with_proc,
    with_station,
)

from kilnctl.marks import off_means, protocol
from kilnctl.marks.off_means import Means
from kilnctl.marks.protocol import Care, LatchWord

Step = tuple[str, World]
EMPTY = ("empty", 0, "")
USER = 1000


# --- the latch on disk


def word(world: World, home: int, oven: int) -> LatchWord:
    """Return what a latch says."""
    at = place(home, oven)
    slots = world.latch[at]
    found = None if slots is None else [protocol.Slot(*slot) for slot in slots]
    return protocol.latch_word(found, world.heated[at])


def latch_written(world: World, home: int, oven: int, state: str, torn: bool = False) -> World:
    """Return the world after a latch was written, in the slot that does not speak."""
    at = place(home, oven)
    slots = world.latch[at] or (EMPTY, EMPTY)
    whole = [protocol.Slot(*slot) for slot in slots if slot[0] == "whole"]
    speaks = protocol.newest(whole) if whole else None
    said = (speaks.kind, speaks.number, speaks.state) if speaks else None
    older = 1 if slots[0] == said else 0
    number = (speaks.number if speaks else 0) + 1
    entry = ("damaged", 0, "") if torn else ("whole", number, state)
    return world._replace(latch=put(world.latch, at, put(slots, older, entry)))


# --- a start, from the command to the end of its heat


def start_steps(world: World, at: int, start: Start) -> Iterator[Step]:
    """Yield what a start may do next."""
    station = world.stations[start.station]
    match start.stage:
        case "new":
            yield "sees the stamps", with_proc(world, at, stage="asked", token=stamps.seen(world, start.home))
        case "asked":
            yield from _handed_over(world, at, start, station)
        case _ if station.controller == LIVES and at_work(world, start):
            yield from _heats(world, at, start)


def _handed_over(world: World, at: int, start: Start, station: Station) -> Iterator[Step]:
    if station.controller == LIVES and station.supervisor in (LIVES, TOLD):
        yield "is handed to the controller", with_proc(world, at, stage="judge")
    elif station.supervisor == DEAD and station.controller == DEAD:
        yield "starts a supervisor", _supervisor_started(world, start.station)


def _supervisor_started(world: World, number: int) -> World:
    """A supervisor cuts what nobody is in charge of before its controller begins."""
    home = 0 if number == DRILL else number
    epoch = world.stations[number].epoch + 1
    world = with_station(
        world, number, supervisor=LIVES, controller=LIVES, remembered=frozenset(), epoch=epoch
    )
    for oven in OVENS:
        if care_of(world, home, oven, number) is Care.CUT and not taken_by(world, oven):
            world = _relay_off(world, oven)
            world = (
                world if world.out[oven] else world._replace(mark=put(world.mark, place(home, oven), None))
            )
    return world


def care_of(world: World, home: int, oven: int, number: int | None) -> Care | None:
    """Return what somebody (a station, or None) is to do with a mark; None where there is none."""
    mark = world.mark[place(home, oven)]
    remembered = number is not None and oven in world.stations[number].remembered
    if mark is None and not remembered:
        return None
    torn = mark is not None and mark[0] == "torn"
    mine = owner_lives = False
    if mark is not None and not torn:
        _, owner, epoch = mark
        mine = number == owner and world.stations[owner].epoch == epoch
        owner_lives = world.stations[owner].epoch == epoch and world.stations[owner].supervisor != DEAD
    return protocol.with_mark(torn, mine, owner_lives, remembered)


def seen_by(world: World, start: Start) -> protocol.WriterSees:
    """Return what a writer sees before heat."""
    taken = taken_by(world, start.oven)
    begun, drill = start.stage != "judge", start.kind == "drill"
    own = driver(world, start.oven) == start.station and begun
    latch = LatchWord.FREE if drill else word(world, start.home, start.oven)
    armed_it = start.kind == "resume" or start.armed
    return protocol.WriterSees(
        off=stamps.off_since(world, start),
        latch=latch,
        mark=care_of(world, start.home, start.oven, start.station if begun else None),
        takes_up=armed_it,
        held_by="" if own else taken,
        latch_stands=drill or not begun or (latch is LatchWord.ARMED and armed_it),
        supervised=supervised(world, start),
    )


def supervised(world: World, start: Start) -> bool:
    """Return whether the supervisor of a start lives: the pipe to it is whole."""
    return world.stations[start.station].supervisor != DEAD


def _heats(world: World, at: int, start: Start) -> Iterator[Step]:
    spot = place(start.home, start.oven)
    match start.stage:
        case "judge":
            if start.asked_off or protocol.why_no_heat(seen_by(world, start)):
                yield "is refused", with_proc(world, at, stage="done")
            else:
                yield "may begin", with_proc(world, at, stage="mark")
        case "mark":
            yield from _marks(world, at, start, spot)
        case "arm":
            yield from _arms(world, at, start, spot)
        case "ready":
            why = start.asked_off or protocol.why_no_heat(seen_by(world, start))
            yield (f"before heat: {why or 'may heat'}", with_proc(world, at, stage="cut" if why else "look"))
        case "look":
            yield from _looks(world, at, start)
        case "drive":
            yield "switches on", _switched_on(world, at, start)
        case "cut":
            yield "cuts and reads off", with_proc(_relay_off(world, start.oven), at, stage="latch")
        case "latch":
            yield from _latches(world, at, start)
        case "clear":
            # Where off was not read back the mark stays, and its supervisor goes on.
            done = world if world.out[start.oven] else world._replace(mark=put(world.mark, spot, None))
            done = done if world.out[start.oven] else _forgotten(done, start.station, start.oven)
            yield "takes its mark away", with_proc(done, at, stage="done")


def _marks(world: World, at: int, start: Start, spot: int) -> Iterator[Step]:
    """Room for the latch first, where there never was one; then the mark."""
    if not world.full[start.home]:
        number = start.station
        if world.latch[spot] is None and not world.heated[spot]:
            world = world._replace(latch=put(world.latch, spot, (("whole", 1, "free"), EMPTY)))
        mark = ("whole", number, world.stations[number].epoch)
        marked = world._replace(mark=put(world.mark, spot, mark), heated=put(world.heated, spot, True))
        known = marked.stations[number].remembered | {start.oven}
        stage = "ready" if start.kind == "drill" else "arm"
        yield "leaves its mark", with_proc(with_station(marked, number, remembered=known), at, stage=stage)
    if world.full[start.home] or world.faults:
        less = world if world.full[start.home] else world._replace(faults=world.faults - 1)
        yield "cannot leave its mark", with_proc(less, at, stage="done")


def _arms(world: World, at: int, start: Start, spot: int) -> Iterator[Step]:
    if world.latch[spot] is not None or not world.full[start.home]:
        armed = latch_written(world, start.home, start.oven, "armed")
        yield "arms its latch", with_proc(armed, at, stage="ready", armed=True)
    if world.faults:
        less = world._replace(faults=world.faults - 1)
        yield "cannot arm its latch", with_proc(less, at, stage="cut")


def _looks(world: World, at: int, start: Start) -> Iterator[Step]:
    off = stamps.off_since(world, start)
    why = "asked" if start.asked_off else protocol.why_go_off(off, supervised(world, start))
    if why:
        yield f"goes off: {why}", with_proc(world, at, stage="cut")
        return
    yield "looks: may heat", with_proc(world, at, stage="drive")
    if world.relay[start.oven] is not None:
        yield "ends well", with_proc(world, at, stage="cut")
        if world.faults:
            less = world._replace(faults=world.faults - 1)
            yield "trips", with_proc(_tripped(less, start), at, stage="cut", trip=True)


def _tripped(world: World, start: Start) -> World:
    if start.kind == "drill":
        return world
    return world._replace(truth=put(world.truth, place(start.home, start.oven), TRIPPED))


def _switched_on(world: World, at: int, start: Start) -> World:
    truth = world.truth[place(start.home, start.oven)]
    wrong = ""
    if (at, start.oven) in world.barred:
        wrong = "an off returned 0, and an older start switched on after it"
    elif truth == TRIPPED and start.kind == "resume":
        wrong = "a trip became an interruption: it was taken up without a reset"
    elif start.kind == "drill":
        wrong = ""  # no latch bars a drill, beside which a person stands: a reset may ask for it
    elif truth == TRIPPED:
        wrong = "a latch was lost: heat after a trip without a reset"
    elif truth == INTERRUPTED and start.kind != "resume":
        wrong = "a latch was lost: another heat after an interrupted one without a reset"
    elif driver(world, start.oven) != start.station:
        wrong = "heat without permission: the device is held by another"
    elif world.stations[start.station].supervisor == DEAD and world.relay[start.oven] is None:
        wrong = ""  # it died after the look: the next look ends it
    if world.out[start.oven]:
        return with_proc(world, at, stage="cut", trip=True)
    on = world._replace(relay=put(world.relay, start.oven, at), wrong=wrong)
    if truth == INTERRUPTED and start.kind != "drill":
        on = on._replace(truth=put(on.truth, place(start.home, start.oven), CLEAR))
    return with_proc(on, at, stage="look")


def _relay_off(world: World, oven: int) -> World:
    """Off reaches a board whose cable is in."""
    return world if world.out[oven] else world._replace(relay=put(world.relay, oven, None))


def _latches(world: World, at: int, start: Start) -> Iterator[Step]:
    """Tripped or free, in place: room was reserved before the heat. A failed write is tried again."""
    spot = place(start.home, start.oven)
    if not start.armed or world.latch[spot] is None:
        yield "has no latch to write", with_proc(world, at, stage="clear")
        return
    left = _latch_left(world, start, spot)
    said = word(left, start.home, start.oven)
    yield f"leaves its latch {said}", with_proc(left, at, stage="clear", armed=False)


def _forgotten(world: World, number: int, oven: int) -> World:
    return with_station(world, number, remembered=world.stations[number].remembered - {oven})


# --- supervisor and controller


def station_steps(world: World, number: int, station: Station) -> Iterator[Step]:
    """Yield what supervisor and controller may do of themselves."""
    home = 0 if number == DRILL else number
    if station.supervisor in (LIVES, TOLD) and station.controller == DEAD:
        yield "the supervisor cuts", _cut_by_supervisor(world, number, home)
    if station.supervisor in (LIVES, TOLD) and station.controller == STOPPED:
        yield "the supervisor kills a silent controller", controller_dies(world, number)
    if station.controller == LIVES and station.supervisor in (TOLD, DEAD):
        yield "the controller ends", _controller_ends(world, number)
    if number == DRILL and station.controller == LIVES and not _drilling(world):
        yield "the drill is over", with_station(world, number, supervisor=DEAD, controller=DEAD)


def _drilling(world: World) -> bool:
    """Return whether a drill is on, or is about to be."""
    drills = [proc for proc in world.procs if isinstance(proc, Start) and proc.kind == "drill"]
    return any(drill.stage == "asked" or at_work(world, drill) for drill in drills)


def _cut_by_supervisor(world: World, number: int, home: int) -> World:
    station = world.stations[number]
    for oven in OVENS:
        care = care_of(world, home, oven, number)
        if care not in (Care.WATCH, Care.CUT) or taken_by(world, oven) or world.out[oven]:
            continue
        spot = place(home, oven)
        world = _relay_off(world, oven)
        if number in MAIN and world.latch[spot] is not None and oven in station.remembered:
            world = latch_written(world, home, oven, "tripped")
            world = world._replace(truth=put(world.truth, spot, TRIPPED))
        world = world._replace(mark=put(world.mark, spot, None))
    return with_station(world, number, supervisor=DEAD, remembered=frozenset())


def _controller_ends(world: World, number: int) -> World:
    """Off to everything, each with its latch, then both are gone."""
    for at, proc in enumerate(world.procs):
        if isinstance(proc, Start) and proc.station == number and at_work(world, proc):
            if proc.stage in ("arm", "ready", "look", "drive", "cut", "latch", "clear"):
                world = _ended_here(world, at, proc)
            else:
                world = with_proc(world, at, stage="done")
    return with_station(world, number, supervisor=DEAD, controller=DEAD, remembered=frozenset())


def _ended_here(world: World, at: int, start: Start) -> World:
    spot = place(start.home, start.oven)
    if start.stage != "clear":
        world = _relay_off(world, start.oven)
        if start.armed and world.latch[spot] is not None:
            world = _latch_left(world, start, spot)
    if not world.out[start.oven]:
        world = world._replace(mark=put(world.mark, spot, None))
    return with_proc(world, at, stage="done")


def _latch_left(world: World, start: Start, spot: int) -> World:
    """A trip stands; after any other end the latch is let go only where off was read back."""
    if start.trip:
        world = latch_written(world, start.home, start.oven, "tripped")
        return world._replace(truth=put(world.truth, spot, TRIPPED))
    if world.out[start.oven]:
        return world._replace(truth=put(world.truth, spot, INTERRUPTED))
    return latch_written(world, start.home, start.oven, "free")


def controller_dies(world: World, number: int, torn: bool = False) -> World:
    """Return the world after a controller's death; what it was writing may be torn."""
    for at, proc in enumerate(world.procs):
        if isinstance(proc, Start) and proc.station == number and at_work(world, proc):
            spot = place(proc.home, proc.oven)
            if torn and proc.stage in ("arm", "latch"):
                world = latch_written(world, proc.home, proc.oven, "", torn=True)
                world = world._replace(heated=put(world.heated, spot, True))
            if proc.armed and world.truth[spot] == CLEAR:
                world = world._replace(truth=put(world.truth, spot, INTERRUPTED))
            world = with_proc(world, at, stage="dead")
    return with_station(world, number, controller=DEAD)


# --- off


def cut_steps(world: World, at: int, cut: Cut) -> Iterator[Step]:
    """Yield what an `off` does next."""
    match cut.stage.split():
        case ["new"]:
            state = off_means.Off(
                frozenset(map(str, cut.ovens)),
                named=cut.oven is not None,
                lock_held=locked(world, cut.home),
                drill_held=cut.home == 0 and locked(world, DRILL),
            )
            yield "begins", with_proc(world, at, stage="think", state=state)
        case ["think"]:
            yield from _means(world, at, cut)
        case ["stamp"]:
            yield from _stamps(world, at, cut)
        case ["ask", number]:
            yield from _obeyed(world, at, cut, int(number))
        case ["answer", number]:
            yield from _heard(world, at, cut, int(number))
        case ["wait"]:
            yield from _waits(world, at, cut)
        case ["ports", oven]:
            yield from _reads(world, at, cut, int(oven))


def _means(world: World, at: int, cut: Cut) -> Iterator[Step]:
    means = off_means.next_means(cut.state)
    used = cut.state._replace(used=(*cut.state.used, means))
    match means:
        case Means.STAMP:
            begun = [i for i, p in enumerate(world.procs) if isinstance(p, Start) and p.stage != "new"]
            older = frozenset(i for i in begun if world.procs[i].oven in cut.ovens)
            paths = stamps.to_leave(world, cut)
            yield (
                "goes to stamp",
                with_proc(world, at, stage="stamp", state=used, older=older, to_stamp=paths),
            )
        case Means.ASK_HOME:
            yield from _asks_home(world, at, cut, used)
        case Means.ASK_DEVICE:
            yield from _asks_devices(world, at, cut, used)
        case Means.SIGNAL:
            told = world
            for number in _to_stop(world, cut):
                told = _told_to_stop(_other_ended(told, cut) if number == cut.home else told, number)
            yield "sends TERM", with_proc(told, at, stage="wait", state=used)
        case Means.PORTS:
            yield from _opens(world, at, cut, used)
        case Means.BESIDE:
            for oven in sorted(map(int, used.left)):
                world = _relay_off(world, oven)
            yield "sends off beside", with_proc(world, at, state=used)
        case Means.DONE:
            yield "returns", _returned(world, at, cut)


def _told_to_stop(world: World, number: int) -> World:
    """TERM to the holder of a lock; who is stopped is killed, and so is a stopped controller left alone."""
    station = world.stations[number]
    if station.supervisor == LIVES:
        return with_station(world, number, supervisor=TOLD)
    if station.supervisor == STOPPED:
        world = with_station(world, number, supervisor=DEAD, remembered=frozenset())
    if number in MAIN and station.controller == STOPPED and station.supervisor != TOLD:
        world = controller_dies(world, number)
    return world


def _other_ended(world: World, cut: Cut) -> World:
    """An off of one oven must not end the heat of another, which a TERM does."""
    others = [o for o in OVENS if o not in cut.ovens and world.relay[o] is not None]
    if any(driver(world, oven) == cut.home for oven in others):
        return world._replace(wrong="an off by name ended the heat of another oven")
    return world


def _stamps(world: World, at: int, cut: Cut) -> Iterator[Step]:
    path, *more = cut.to_stamp
    after = with_proc(world, at, to_stamp=tuple(more), stage="stamp" if more else "think")
    at_home = path.startswith(str(stamps.home_of(cut.home)))
    fresh = path not in dict(world.stamps)
    if not (at_home and world.full[cut.home] and fresh):
        yield f"stamps {path}", stamps.left(after, path)
    if world.faults or (at_home and world.full[cut.home] and fresh):
        free = at_home and world.full[cut.home] and fresh
        failed = after if free else after._replace(faults=world.faults - 1)
        lost = {"home_stamped": False} if at_home else {"devices_stamped": False}
        yield f"cannot stamp {path}", with_proc(failed, at, state=cut.state._replace(**lost))


def _off_line(world: World, number: int, ovens: tuple[int, ...]) -> World:
    """An order on the off line: the heats that are meant go off and never on again."""
    for at, proc in enumerate(world.procs):
        mine = isinstance(proc, Start) and proc.station == number and proc.oven in ovens
        if mine and at_work(world, proc):
            stage = "cut" if proc.stage in ("ready", "look", "drive") else proc.stage
            world = with_proc(world, at, asked_off=True, stage=stage)
            if stage == "cut":
                world = with_proc(_relay_off(world, proc.oven), at, stage="latch")
    return world


def _asks_home(world: World, at: int, cut: Cut, used: Any) -> Iterator[Step]:
    if world.stations[cut.home].controller == DEAD:
        yield "finds no controller", with_proc(world, at, state=used)
    else:
        yield "asks the controller", with_proc(world, at, stage=f"ask {cut.home}", state=used)


def _asks_devices(world: World, at: int, cut: Cut, used: Any) -> Iterator[Step]:
    driven = [o for o in sorted(map(int, used.left)) if driver(world, o) is not None]
    if not driven:
        yield "finds no driver", with_proc(world, at, state=used)
    else:
        yield "asks at the devices", with_proc(world, at, stage=f"ask {driver(world, driven[0])}", state=used)


def _obeyed(world: World, at: int, cut: Cut, number: int) -> Iterator[Step]:
    """Who is asked cuts first, then reads and answers; one who is stopped or dead is not waited for."""
    if world.stations[number].controller == LIVES:
        asked = _off_line(world, number, cut.ovens)
        yield "is obeyed", with_proc(asked, at, stage=f"answer {number}")
    else:
        yield "hears nothing", with_proc(world, at, stage="think")


def _heard(world: World, at: int, cut: Cut, number: int) -> Iterator[Step]:
    if world.stations[number].controller != LIVES:
        yield "hears nothing", with_proc(world, at, stage="think")
        return
    answer, peer = _answer(world, number, cut.ovens)
    told, state = off_means.told_off(answer), cut.state
    if told is not None and off_means.of_this_home(peer, 200 + cut.home, USER):
        state = _with(state, told, True)
    elif told is not None and Means.ASK_DEVICE in state.used and off_means.of_the_device(peer, USER):
        state = _with(state, told, state.answered)
    rest = [o for o in sorted(map(int, state.left)) if driver(world, o) not in (None, number)]
    if Means.ASK_DEVICE in state.used and rest and number < driver(world, rest[0]):
        yield "is answered, asks on", with_proc(world, at, stage=f"ask {driver(world, rest[0])}", state=state)
    else:
        yield "is answered", with_proc(world, at, stage="think", state=state)


def _answer(world: World, number: int, ovens: tuple[int, ...]) -> tuple[object, off_means.Peer]:
    """Return what a station answers: the ovens that it drives, each read three times, and who it is."""
    driven = [oven for oven in ovens if driver(world, oven) == number]
    off = {o: world.relay[o] is None and not world.out[o] for o in driven}
    said = {str(o): {"reads_off": off_means.READS if off[o] else 0} for o in driven}
    parent = 200 + number if world.stations[number].supervisor != DEAD else 1
    return {"ovens": said}, off_means.Peer(100 + number, parent, USER, has_device=bool(driven))


def _with(state: Any, told: dict[str, bool], answered: bool) -> Any:
    good = frozenset(name for name, off in told.items() if off)
    held = state.held | (frozenset(told) if answered else frozenset())
    charge = state.charge | frozenset(told)
    return state._replace(charge=charge, read=state.read | good, held=held, answered=answered)


def _to_stop(world: World, cut: Cut) -> list[int]:
    """Return whose lock's holder is told to stop: a drill's of the ovens meant, the home's where it must."""
    state = cut.state
    drills = [p.oven for p in world.procs if isinstance(p, Start) and p.kind == "drill"]
    drill = cut.home == 0 and locked(world, DRILL) and any(oven in cut.ovens for oven in drills)
    return [*([DRILL] if drill else []), *([cut.home] if off_means.home_must_end(state) else [])]


def _waits(world: World, at: int, cut: Cut) -> Iterator[Step]:
    waited_for = [number for number in _to_stop(world, cut) if locked(world, number)]
    state = cut.state._replace(lock_held=cut.state.lock_held and locked(world, cut.home))
    stopped = [STOPPED in (world.stations[n].supervisor, world.stations[n].controller) for n in waited_for]
    if not waited_for:
        yield "sees the locks go", with_proc(world, at, stage="think", state=state)
    elif any(stopped):
        yield "gives up waiting", with_proc(world, at, stage="think", state=state)


def _opens(world: World, at: int, cut: Cut, used: Any) -> Iterator[Step]:
    free = [o for o in sorted(map(int, used.left)) if not taken_by(world, o) and not world.out[o]]
    if not free:
        yield "finds every port held", with_proc(world, at, state=used)
    for oven in free[:1]:  # one port at a time is enough to interleave
        yield f"takes port {oven}", with_proc(_relay_off(world, oven), at, stage=f"ports {oven}", state=used)


def _reads(world: World, at: int, cut: Cut, oven: int) -> Iterator[Step]:
    state = cut.state
    if world.relay[oven] is None and not world.out[oven]:
        state = state._replace(read=state.read | {str(oven)})
        spot = place(cut.home, oven)
        if not state.lock_held or care_of(world, cut.home, oven, None) is Care.CUT:
            world = world._replace(mark=put(world.mark, spot, None))
    rest = [
        o for o in sorted(map(int, state.left)) if o > oven and not taken_by(world, o) and not world.out[o]
    ]
    if rest:
        more = with_proc(_relay_off(world, rest[0]), at, stage=f"ports {rest[0]}", state=state)
        yield f"reads port {oven} off, takes {rest[0]}", more
    else:
        yield f"reads port {oven} off", with_proc(world, at, stage="think", state=state)


def _returned(world: World, at: int, cut: Cut) -> World:
    code = off_means.exit_code(cut.state)
    world = with_proc(world, at, stage="done", code=code)
    if code != 0:
        return world
    for oven in cut.ovens:
        by = world.relay[oven]
        if by is not None and by in cut.older:
            world = world._replace(wrong=f"an off returned 0 while the relay of oven {oven} was on")
    barred = {(i, oven) for i in cut.older for oven in cut.ovens}
    return world._replace(barred=world.barred | barred)


# --- reset


def reset_steps(world: World, at: int, reset: Reset) -> Iterator[Step]:
    """Yield what a reset does next."""
    match reset.stage:
        case "new" if not taken_by(world, reset.oven):
            if word(world, reset.home, reset.oven) is LatchWord.FREE:
                yield "finds nothing latched", with_proc(world, at, stage="done")
            else:  # it connects, which sends off, and sees good readings
                yield "looks at the oven", with_proc(_relay_off(world, reset.oven), at, stage="write")
        case "new":
            yield "is refused", with_proc(world, at, stage="done")
        case "write":
            spot = place(reset.home, reset.oven)
            cleared = (("whole", 1, "free"), EMPTY)
            free = world._replace(
                latch=put(world.latch, spot, cleared),
                truth=put(world.truth, spot, CLEAR),
                mark=put(world.mark, spot, None),
            )
            yield "frees the latch", with_proc(free, at, stage="done")
