"""The command that walks through the set-up of an oven: commission."""

import contextlib
import json
import signal
import subprocess
import sys
from collections.abc import Iterator
from functools import cache, partial
from typing import Annotated

from cyclopts import Parameter

from kilnctl.cli.heat import off_seen
from kilnctl.cli.heat.simulated_pace import pace_of
from kilnctl.cli.terminal.ask_controller import take_over
from kilnctl.cli.terminal.console import Console
from kilnctl.cli.terminal.options import refuse_unused
from kilnctl.cli.terminal.place import who
from kilnctl.cli.terminal.presence_prompt import needed_here, prove
from kilnctl.cli.terminal.select import choose_oven
from kilnctl.cli.terminal.tell import tell
from kilnctl.clock import RealClock
from kilnctl.commissioning import results
from kilnctl.commissioning.drills.drill_job import DrillJob, drill_apart, settled
from kilnctl.commissioning.operator import Person
from kilnctl.commissioning.procedures import DOING
from kilnctl.commissioning.wizard import Shop, set_up
from kilnctl.commissioning.wizard_lock import alone_with, busy
from kilnctl.config import home
from kilnctl.config.oven import Oven, load_oven
from kilnctl.devices.bus_registry import Buses
from kilnctl.devices.interfaces import OvenIO
from kilnctl.devices.oven_io import open_oven_io
from kilnctl.devices.probing.probe import Probe
from kilnctl.errors import ConfigError, DeviceError, RunRefused
from kilnctl.logbook.readers import Reader
from kilnctl.logbook.writer import Logbook
from kilnctl.marks import latch, running_ovens
from kilnctl.marks.off_stamp import StampWatch, Token, outlets
from kilnctl.marks.oven_identity import identity_of
from kilnctl.permits import step_results
from kilnctl.permits.dead_man_test import Finding
from kilnctl.permits.needed_steps import spared
from kilnctl.permits.preflight import refuse_scale
from kilnctl.permits.setup_steps import STEPS, find_step
from kilnctl.processes.messenger import send_test
from kilnctl.processes.off_order import OffOrders
from kilnctl.readings import Trip

CHECK_FAILED = 1


def commission(
    oven: str | None = None,
    /,
    *,
    step: str | None = None,
    listing: Annotated[bool, Parameter(name="--list", negative="")] = False,
    time_scale: float | None = None,
) -> int:
    """Walk through the set-up of an oven. Stop any time; it continues where you left off. Results are dated.

    Parameters
    ----------
    oven
        An oven file or name.
    step
        Do only this step, even if it is not due.
    listing
        Only show what is done, open or overdue.
    time_scale
        Seconds of the heat in one real second; simulated ovens only. Left out, the simulator's own speed.
    """
    if listing:
        refuse_unused("--list runs no step", step=step, time_scale=time_scale)
    stamps = off_seen.stamps()
    path, chosen = choose_oven(oven, option="")
    text = path.read_text(encoding="utf-8")
    useful = [one for one in STEPS if one.name not in spared(chosen)]
    chosen_steps = [find_step(step)] if step is not None else useful
    if step is not None and step in spared(chosen):
        raise ConfigError(f"{step}: not needed on {chosen.name}, and no use there")
    with Logbook(home.logbook_path()) as book:
        if listing:
            done = step_results.results(Reader(book.connection), chosen.name)
            now_s, oven_hash = RealClock().utc().timestamp(), step_results.hash_of(text)
            print("\n".join(results.listing(done, now_s, chosen, oven_hash, spared(chosen))))
            return 0
        _refuse(chosen, time_scale)
        for line in filter(None, (needed_here(chosen), bars_a_heat(chosen))):
            tell(line)
        scale = pace_of(chosen, time_scale)
        _mind_signals()
        began_s = RealClock().utc().timestamp()
        try:
            with alone_with(chosen.name):
                set_up(_shop(book, chosen, text, scale, stamps), chosen_steps, DOING, step is None)
        finally:
            _leave_cold(chosen, scale)
        return 0 if step is None or _passed(book, chosen, step, began_s) else CHECK_FAILED


def _passed(book: Logbook, oven: Oven, step: str, since_s: float) -> bool:
    """Return whether a step was done since then and passed; one that could not begin has not."""
    found = step_results.results(Reader(book.connection), oven.name).get(step)
    return found is not None and found.passed and found.utc_s >= since_s


def _refuse(oven: Oven, time_scale: float | None) -> None:
    if time_scale is not None:
        refuse_scale(time_scale)
    if not sys.stdin.isatty():
        raise RunRefused("the set-up asks questions; start it from a terminal, or show it with --list")
    take_over(oven.name)


def _leave_cold(oven: Oven, time_scale: float) -> None:
    """Every drill has cut the heat; where that was not read back, `kilnctl off` must still find the oven."""
    marked = oven.name in {one.name for one in running_ovens.marked()}
    if marked and open_oven_io(oven, RealClock(time_scale), time_scale).off():
        running_ovens.clear_at(oven)


def _mind_signals() -> None:
    """A closed terminal and a kill end the walk as Ctrl-C does: through the drill's own way out."""
    for number in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP):
        signal.signal(number, signal.default_int_handler)


def _shop(book: Logbook, oven: Oven, text: str, time_scale: float, stamps: Token) -> Shop:
    clock = RealClock(time_scale)
    buses = Buses(clock)
    person = Console()
    stamp_watch = StampWatch(stamps, home.home(), oven.name, outlets(text))
    orders = OffOrders({}, buses, clock)
    orders.listen(None)

    def oven_io(wired: Oven) -> OvenIO:
        settled(oven.name, clock)
        return open_oven_io(wired, clock, time_scale, buses)

    def probe() -> Probe:
        settled(oven.name, clock)
        return Probe(oven, clock, buses=buses, why_stop=stamp_watch)

    def asked_anew() -> None:
        """Whoever has read what failed asks for what follows now: it is later than the off that ended it."""
        if said := stamp_watch.anew():
            person.say(f"  {said}; what you do now begins after it")

    def apart(job: DrillJob) -> Finding:
        settled(oven.name, clock)
        return drill_apart(job, oven.name, lambda line: person.say(f"  … {line}"))

    return Shop(
        oven=oven,
        oven_text=text,
        person=person,
        clock=clock,
        book=book,
        oven_io=oven_io,
        probe=probe,
        beside=lambda: _beside(oven, person),
        still_latched=lambda: _still_latched(oven, clock),
        send_test=lambda: send_test(oven.name),
        time_scale=time_scale,
        who=who(),
        apart=apart,
        off_stamp=lambda: stamp_watch.token,
        asked_anew=asked_anew,
        on_the_line=partial(_on_the_line, orders, buses, oven, text),
        why_afar=cache(lambda: _why_afar(oven)),
        why_latched=cache(lambda: why_latched(oven, person)),
    )


@contextlib.contextmanager
def _on_the_line(orders: OffOrders, buses: Buses, oven: Oven, text: str) -> Iterator[None]:
    """Answer an off while this process has the oven's port, heating or not; its name is given back."""
    try:
        with orders.starting(text):
            yield
    finally:
        buses.give_back(oven)
        orders.settle()


def _why_afar(oven: Oven) -> str:
    """Return why the person is not known to be at the oven, empty where he is or has proved it."""
    try:
        prove(oven, RealClock())
    except (RunRefused, DeviceError) as e:
        return str(e)
    return ""


def bars_a_heat(oven: Oven) -> str:
    """Say early that a latch bars the heat that somebody sets the oven up for; empty where there is none."""
    stands = latch.of_device(oven.name, identity_of(oven))
    if not stands:
        return ""
    return (
        f"{stands[0].line()}. The set-up can be done, but no heat starts before `kilnctl reset --oven "
        f"{stands[0].oven}`, which says what it asks for"
    )


def why_latched(oven: Oven, person: Person) -> str:
    """Return why no drill heats a latched oven, empty where its person has read the latch and goes on.

    No latch bars a drill: a reset may ask for one.
    """
    stands = [said.line() for said in latch.of_device(oven.name, identity_of(oven))]
    for line in stands:
        person.say(f"  {line}")
    if not stands or person.key("A drill heats it anyway. Go on?"):
        return ""
    return f"no drill was begun: {stands[0]}"


def _beside(oven: Oven, person: Console) -> tuple[str, ...]:
    """Return the files of the owner's other ovens, except one that is being set up elsewhere at this time."""
    found = []
    for path in sorted((home.home() / "ovens").glob("*.toml")):
        try:
            other, text = load_oven(path), path.read_text(encoding="utf-8")
        except (ConfigError, OSError) as e:
            person.say(f"  {path.name} is not watched: {e}")
            continue
        if other.name == oven.name or other.simulated != oven.simulated:
            continue
        if busy(other.name):
            person.say(f"  {other.name} is not watched: it is being set up at another terminal")
        else:
            found.append(text)
    return tuple(found)


def _still_latched(oven: Oven, clock: RealClock) -> bool:
    """Latch the oven, ask a program started anew, and take this latch away again: it was a drill."""
    drill = latch.Latch(oven.name, clock.utc)
    fresh = latch.read(oven.name) is None
    if fresh:
        drill.arm()
        drill.trip(Trip("sensor_lost", "sensor-out drill", clock.now_s()))
    try:
        words = [sys.executable, "-m", "kilnctl.cli.main", "status", "--json"]
        done = subprocess.run(words, capture_output=True, text=True, timeout=60.0, check=True)
        return any(said["oven"] == oven.name for said in json.loads(done.stdout)["latched"])
    finally:
        if fresh:
            drill.release()
