"""A history drawn from a seed: commands, kills and faults, one after the other, in real time.

`python -m histories.history SEED` (from the folder of the tests) plays one and tells what was wrong.
"""

import contextlib
import itertools
import json
import random
import shutil
import signal
import socket
import sqlite3
import sys
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from histories.forking import Nursery
from histories.judge import Judge, Wrong
from histories.place import HOMES, OVENS, Place, until

HOT_S = 25.0  # a busy computer's time from the command to the first heat
LAST_LOOK_S = 1.2  # some ticks, in which a heat that goes on shows itself
MARKS = ("running", "latches", "off", "hot")


@dataclass(frozen=True, slots=True)
class Step:
    """One thing that happens, how long to wait afterwards (s), and what it needs to know."""

    what: str
    home: str = "one"
    oven: str = "A"
    wait_s: float = 0.0
    more: Any = None

    def line(self) -> str:
        """Return it as a line."""
        return f"{self.what} {self.home} {self.oven} {self.more or ''} (then {self.wait_s:.2f} s)"


def drawn(seed: int, long: bool = False) -> list[Step]:
    """Return the steps of a history."""
    dice = random.Random(seed)
    steps = list(_beginning(dice))
    for _ in range(dice.randint(2, 7) if long else dice.randint(1, 3)):
        steps += _disturbance(dice)
    steps += _ending(dice)
    if long and dice.random() < 0.6:
        steps += [*_beginning(dice), *_disturbance(dice), *_ending(dice)]
    return steps


def _where(dice: random.Random) -> tuple[str, str]:
    return dice.choices(HOMES, (4, 1))[0], dice.choice(list(OVENS))


def _beginning(dice: random.Random) -> list[Step]:
    home, oven = _where(dice)
    start = dice.choices(("run hot", "run", "drill", "delayed", "tune", "two people"), (6, 3, 1, 1, 1, 1))[0]
    wait_s = dice.uniform(0.2, 1.5) if start in ("run hot", "tune") else dice.uniform(0.3, 3.0)
    steps = [Step(start, home, oven, wait_s, dice.choice(PAIRS) if start == "two people" else None)]
    if dice.random() < 0.2:
        other = next(name for name in OVENS if name != oven)
        steps.append(Step(dice.choice(("run hot", "run")), home, other, dice.uniform(0.2, 1.5)))
    return steps


# What two people at two terminals may do in the same second.
PAIRS = (
    ("run", "run"),
    ("run", "drill"),
    ("drill", "drill"),
    ("run", "reset"),
    ("run", "off"),
    ("drill", "off"),
)
CHOICES: dict[str, Sequence[Any]] = {
    "folder gone": MARKS,
    "torn": list(itertools.product(MARKS, ("cut", "noise", "empty"))),
    "two people": PAIRS,
    "edited": ("limit", "gone", "noise", "name"),
    "clock": (3600, -3600, 86_400, -86_400, 600_000_000, -600_000_000),  # s
    "crowd": (40, 200),
}
FOR_A_WHILE = ("silent", "bounce", "read only")
KILLS = [(kind, number) for kind in ("controller", "supervisor") for number in ("KILL", "TERM", "STOP")]
DISTURBANCES: dict[str, int] = {
    "kill": 6,
    "kill both": 2,
    "kill command": 1,
    "unplug": 3,
    "socket gone": 2,
    "folder gone": 3,
    "torn": 3,
    "disk full": 3,
    "logbook locked": 1,
    "crowd": 2,
    "hand": 2,
    "second run": 1,
    "garbage": 1,
    "off": 3,
    "status": 1,
    "silent": 2,
    "bounce": 2,
    "two people": 2,
    "set-up": 1,
    "edited": 1,
    "clock": 2,
    "moved": 1,
    "read only": 2,
    "stop command": 1,
}


def _disturbance(dice: random.Random) -> list[Step]:
    home, oven = _where(dice)
    what = dice.choices(list(DISTURBANCES), list(DISTURBANCES.values()))[0]
    wait_s = dice.choice((0.0, dice.uniform(0.0, 0.6), dice.uniform(0.5, 3.0)))
    if what in CHOICES:
        return [Step(what, home, oven, wait_s, dice.choice(CHOICES[what]))]
    if what in FOR_A_WHILE:
        lasts_s = dice.uniform(0.1, 4.0)
        return [Step(what, home, oven, lasts_s, True), *_maybe_off(dice), Step(what, home, oven, 0.3, False)]
    match what:
        case "kill":
            kind, number = dice.choice(KILLS)
            steps = [Step("kill", home, oven, wait_s, (kind, number))]
            if number == "STOP" and dice.random() < 0.7:
                steps += [*_maybe_off(dice), Step("kill", home, oven, dice.uniform(0.0, 2.0), (kind, "CONT"))]
            return steps
        case "unplug":
            lasts_s = dice.uniform(0.1, 4.0)
            return [Step(what, home, oven, lasts_s), *_maybe_off(dice), Step("plug", home, oven, 0.5)]
        case "disk full":
            inner = _disturbance(dice) if dice.random() < 0.6 else []
            full = [Step(what, home, oven, wait_s), *inner, *_maybe_off(dice)]
            return [*full, Step("disk free", home, oven, 0.2)]
        case "off":
            return [_off(dice)]
    return [Step(what, home, oven, wait_s)]


def _off(dice: random.Random) -> Step:
    home = dice.choices(HOMES, (4, 1))[0]
    oven = dice.choice(("", "", "", "A", "B", "C"))
    return Step(dice.choice(("off", "off", "two offs")), home, oven, dice.choice((0.0, 0.5, 2.0)))


def _maybe_off(dice: random.Random) -> list[Step]:
    return [_off(dice)] if dice.random() < 0.5 else []


def _ending(dice: random.Random) -> list[Step]:
    home, oven = _where(dice)
    steps = [Step("off", home, "" if dice.random() < 0.8 else oven, dice.uniform(0.5, 2.0))]
    again = dice.choices(("", "resume", "run", "reset", "status"), (4, 2, 2, 2, 1))[0]
    if again:
        steps += [Step("mend", home, oven), Step(again, home, oven, dice.uniform(0.5, 3.0))]
    if again == "reset":
        steps.append(Step("run", home, oven, 2.0))
    return [*steps, Step("probe", home, oven)]


class Player:
    """Plays steps in a place. Waits only as long as the steps say, or until something is over."""

    def __init__(self, place: Place, seed: int) -> None:
        self.place, self._dice = place, random.Random(-seed)

    def play(self, steps: list[Step]) -> None:
        """Play all steps, then let everything come to its end."""
        for step in steps:
            self.place.note("step", step.line())
            name = step.what.replace(" ", "_").replace("-", "_")
            act: Callable[[Step], None] = getattr(self, f"do_{name}")
            act(step)
            time.sleep(step.wait_s)
        self.do_mend(Step("mend"))
        time.sleep(1.0)

    def do_run(self, step: Step) -> None:
        """Start a run and go on at once."""
        self.place.heat(step.home, step.oven, "--json")

    def do_run_hot(self, step: Step) -> None:
        """Start a run and wait until heat flows."""
        said = self.place.heat(step.home, step.oven, "--json")
        until(lambda: self.place.hot(step.oven) or said.ended_s is not None, HOT_S)

    do_second_run = do_run

    def do_delayed(self, step: Step) -> None:
        """Start a heat that waits for its hour."""
        ready = time.strftime("%H:%M", time.localtime(time.time() + 3600))
        words = ["--soak", "60C", "--for", "5min", "--unattended", "--ready-at", ready]
        oven = str(self.place.oven_file(step.home, step.oven))
        self.place.start(step.home, "run", *words, "--oven", oven, *self.place.scale(), "--json")

    def do_drill(self, step: Step) -> None:
        """Start the set-up, and go on when its first drill switches the heat on."""
        said = self.place.drill(step.home, step.oven)
        until(lambda: self.place.hot(step.oven) or said.ended_s is not None, HOT_S)

    do_set_up = do_drill

    def do_tune(self, step: Step) -> None:
        """Learn an oven, and go on when heat flows."""
        file = str(self.place.oven_file(step.home, step.oven))
        said = self.place.at_terminal(step.home, "tune", file, *self.place.scale(), watching=step.oven)
        until(lambda: self.place.hot(step.oven) or said.ended_s is not None, HOT_S)

    def do_two_people(self, step: Step) -> None:
        """Two people at two terminals, a moment apart."""
        for what in step.more:
            match what:
                case "run":
                    file = str(self.place.oven_file(step.home, step.oven))
                    words = ("run", "--soak", "200C", "--for", "2h", "--oven", file, *self.place.scale())
                    self.place.at_terminal(step.home, *words, watching=step.oven)
                case "drill":
                    self.place.drill(step.home, step.oven)
                case "off":
                    self.place.start(step.home, "off")
                case "reset":
                    note = ("--note", "two of us looked at it", *self.place.scale())
                    self.place.start(step.home, "reset", "--oven", step.oven, *note)
            time.sleep(self._dice.uniform(0.0, 1.0))

    def do_edited(self, step: Step) -> None:
        """Somebody edits the oven file, takes it away, or damages it."""
        text = self.place.oven_text(step.oven)
        new = {
            "limit": text.replace('limit = "260 C"', 'limit = "255 C"'),
            "noise": text[: self._dice.randrange(len(text))] + "\x00",
            "name": text.replace(f'name = "{step.oven}"', f'name = "{step.oven} new"'),
        }
        file = self.place.oven_file(step.home, step.oven)
        with contextlib.suppress(OSError):
            file.unlink() if step.more == "gone" else file.write_text(new[step.more], encoding="utf-8")
        self.place.note("oven file", f"{step.home} {step.oven} {step.more}")

    def do_clock(self, step: Step) -> None:
        """Let the wall clock jump."""
        self.place.wall_step.write_text(str(step.more))
        self.place.note("wall clock", f"{step.more} s")

    def do_moved(self, step: Step) -> None:
        """Move a home away."""
        self.place.move(step.home)

    def do_read_only(self, step: Step) -> None:
        """Let a disk be read only for a while."""
        self.place.read_only(step.home, step.more)

    def do_silent(self, step: Step) -> None:
        """Let the module of an oven answer nothing, or again."""
        self.place.board(step.oven, "silent", on=step.more)

    def do_bounce(self, step: Step) -> None:
        """Let the switch of the door bounce, or rest."""
        self.place.board(step.oven, "bounce", on=step.more)

    def do_stop_command(self, step: Step) -> None:
        """Stop whatever a person looks at, as Ctrl-Z does."""
        self.place.send(step.home, "other", signal.SIGSTOP)

    def do_resume(self, step: Step) -> None:
        """Take up the newest run."""
        known = [s.summary.get("run") for s in self.place.said if s.home == step.home]
        newest = max((n for n in known if isinstance(n, int)), default=1)
        self.place.start(step.home, "run", "--from", str(newest), "--json")

    def do_off(self, step: Step) -> None:
        """Off, plain or by name, to its end."""
        self.place.say(step.home, "off", *(("--oven", step.oven) if step.oven else ()))

    def do_two_offs(self, step: Step) -> None:
        """Two offs at nearly the same time."""
        words = ("--oven", step.oven) if step.oven else ()
        first = self.place.start(step.home, "off", *words)
        time.sleep(self._dice.uniform(0.0, 0.3))
        self.place.say(step.home, "off", *words)
        until(lambda: first.ended_s is not None, 20.0)

    def do_status(self, step: Step) -> None:
        """Ask how it stands."""
        self.place.say(step.home, "status")

    def do_reset(self, step: Step) -> None:
        """Reset the latch, with a note."""
        self.place.say(
            step.home, "reset", "--oven", step.oven, "--note", "looked at it in a test", *self.place.scale()
        )

    def do_kill(self, step: Step) -> None:
        """Send a signal to controller or supervisor."""
        kind, number = step.more
        self.place.send(step.home, kind, signal.Signals[f"SIG{number}"])

    def do_kill_both(self, step: Step) -> None:
        """Kill everything of a home at once, as a power cut does."""
        self.place.send(step.home, "supervisor", signal.SIGSTOP)
        self.place.send(step.home, "controller", signal.SIGKILL)
        self.place.send(step.home, "supervisor", signal.SIGKILL)
        self.place.send(step.home, "other", signal.SIGKILL)
        for said in self.place.said:
            if said.home == step.home and said.ended_s is None:
                said.killed = "KILL"

    def do_kill_command(self, step: Step) -> None:
        """End the command that shows a heat."""
        for said in self.place.said:
            if said.ended_s is None and said.words[0] != "off":
                said.killed = self._dice.choice(("KILL", "HUP", "INT"))
                with contextlib.suppress(ProcessLookupError):
                    said.process.send_signal(signal.Signals[f"SIG{said.killed}"])
                self.place.note(f"SIG{said.killed} command", str(said.words))

    def do_unplug(self, step: Step) -> None:
        """Pull the cable of a board."""
        self.place.board(step.oven, "unplug")

    def do_plug(self, step: Step) -> None:
        """Plug it in again."""
        self.place.board(step.oven, "plug")

    def do_hand(self, step: Step) -> None:
        """Let somebody else switch the relays of an oven on, then off."""
        for coil in (1, 0):
            self.place.board(step.oven, "hand", coil=coil, on=True)
        self.do_off(Step("off", step.home, self._dice.choice(("", step.oven))))

    def do_socket_gone(self, step: Step) -> None:
        """Remove every socket in the home."""
        for path in self.place.home(step.home).rglob("*"):
            with contextlib.suppress(OSError):
                if path.is_socket():
                    path.unlink()
        self.place.note("socket gone", step.home)

    def do_folder_gone(self, step: Step) -> None:
        """Remove a folder of marks."""
        shutil.rmtree(self.place.home(step.home) / step.more, ignore_errors=True)
        self.place.note(f"{step.more} gone", step.home)

    def do_torn(self, step: Step) -> None:
        """Leave the marks of a folder as a broken write would."""
        folder, how = step.more
        for path in sorted((self.place.home(step.home) / folder).glob("*")):
            with contextlib.suppress(OSError):
                self._tear(path, how)
        self.place.note(f"{folder} torn", f"{step.home} {how}")

    def _tear(self, path: Path, how: str) -> None:
        size = path.stat().st_size
        with path.open("r+b") as file:
            if how == "noise":
                file.write(self._dice.randbytes(max(size, 16)))
            else:
                file.truncate(0 if how == "empty" else size // 2)

    def do_disk_full(self, step: Step) -> None:
        """Fill the disk of a home."""
        self.place.fill(step.home)

    def do_disk_free(self, step: Step) -> None:
        """Make room again."""
        self.place.free(step.home)

    def do_logbook_locked(self, step: Step) -> None:
        """Hold the logbook so that nobody else can write."""
        path = self.place.home(step.home) / "logbook.sqlite"
        if path.exists():
            held = sqlite3.connect(path, timeout=0.2, isolation_level=None, check_same_thread=False)
            with contextlib.suppress(sqlite3.Error):
                held.execute("BEGIN EXCLUSIVE")
            self.place.hold(held)
        self.place.note("logbook locked", step.home)

    def do_crowd(self, step: Step) -> None:
        """Let so many screens come to the socket and stay."""
        for path in self.place.home(step.home).rglob("*"):
            with contextlib.suppress(OSError):
                if path.is_socket():
                    self._come(path, step.more)
        self.place.note("crowd", f"{step.home} {step.more}")

    def _come(self, path: Path, many: int) -> None:
        for _ in range(many):
            screen = socket.socket(socket.AF_UNIX)
            screen.settimeout(0.2)
            self.place.hold(screen)
            with contextlib.suppress(OSError):
                screen.connect(str(path))

    def do_garbage(self, step: Step) -> None:
        """Say something that nobody understands to every socket."""
        for path in self.place.home(step.home).rglob("*"):
            with contextlib.suppress(OSError), socket.socket(socket.AF_UNIX) as screen:
                screen.settimeout(0.3)
                screen.connect(str(path))
                screen.sendall(
                    self._dice.choice((b"\xff" * 300, b"[" * 5000 + b"\n", b'{"command": 7}\n', b"\n"))
                )

    def do_mend(self, step: Step) -> None:
        """Put right what can be: cables in, nobody stopped, room on the disk, nobody in the way."""
        self.place.let_go()
        for oven in OVENS:
            self.place.board(oven, "plug")
            self.place.board(oven, "silent", on=False)
            self.place.board(oven, "bounce", on=False)
        self.place.mend_disks()
        for home in HOMES:
            for oven in OVENS:
                with contextlib.suppress(OSError):
                    self.place.oven_file(home, oven).write_text(self.place.oven_text(oven), encoding="utf-8")
                    self.place.note("oven file", f"{home} {oven} mended")
            for kind in ("supervisor", "controller", "other"):
                self.place.send(home, kind, signal.SIGCONT)

    def do_probe(self, step: Step) -> None:
        """Where something has tripped, ask for its state and try to heat it all the same."""
        tripped = [s for s in self.place.said if s.summary.get("outcome") == "tripped" and s.oven in OVENS]
        if not tripped:
            return
        self.do_mend(step)
        last = tripped[-1]
        self.place.say(last.home, "status")
        said = self.place.heat(last.home, str(last.oven), "--json")
        until(lambda: said.ended_s is not None, 4.0)


def play(seed: int, long: bool = False, nursery: Nursery | None = None) -> tuple[list[Wrong], dict[str, Any]]:
    """Play the history of a seed; return what was wrong, and what happened as plain data."""
    speed = random.Random(seed).choice((4, 5, 8, 10))
    place = Place(speed, nursery=nursery)
    try:
        Player(place, seed).play(drawn(seed, long))
        place.say("one", "off")
        time.sleep(LAST_LOOK_S)
        judge = Judge(place)
        return judge.wrongs(), told(place, judge)
    finally:
        place.close()


def told(place: Place, judge: Judge) -> dict[str, Any]:
    """Return a history as plain data for a results file, times in seconds from its start."""
    start_s = place.events[0][0] if place.events else 0.0
    lines = [(t, f"{what} {about}") for t, what, about in place.events]
    for said in place.said:
        lines.append((said.began_s, f"$ [{said.home}] {' '.join(said.words)}"))
        if said.ended_s is not None:
            ended = {key: said.summary[key] for key in ("outcome", "cause") if key in said.summary}
            words = [f"{ended}"] if ended else f"{said.out} {said.err}".strip().splitlines()
            lines.append(
                (said.ended_s, f"  -> {said.code} ({said.words[0]}) {words[-1][:200] if words else ''}")
            )
    for (oven, coil), relay in judge.relays.items():
        lines += [
            (t, f"  [{oven}] coil {coil} {'ON' if on else 'off'} by {by}")
            for t, on, by in zip(relay.times, relay.states, relay.causes, strict=True)
        ]
    offs = [(s.code, round((s.ended_s or 0.0) - s.began_s, 3)) for s in judge.offs if s.ended_s]
    heats = sum(len(relay.times) > 0 for (_, coil), relay in judge.relays.items() if coil == 0)
    return {
        "lines": [f"{t - start_s:8.3f} {line}" for t, line in sorted(lines)],
        "offs": offs,
        "ovens heated": heats,
        "trips": sum(h.tripped for h in judge.heats),
    }


def main() -> int:
    """Play one history and print it."""
    wrong, what = play(int(sys.argv[1]), "--long" in sys.argv)
    print("\n".join(what["lines"]))
    print(json.dumps({k: v for k, v in what.items() if k != "lines"}))
    for one in wrong:
        print(f"WRONG {one.rule} [{one.oven}]: {one.say}")
    return len(wrong)


if __name__ == "__main__":
    sys.exit(main())
