"""At the machine, or not at all: who is taken to be there, and what the others must see."""

import pytest

from kilnctl.clock import VirtualClock
from kilnctl.config import home
from kilnctl.config.oven import load_oven
from kilnctl.errors import RunRefused
from kilnctl.permits import presence
from kilnctl.permits.lamp_calls import NUMBERS

SHELL = ("bash", "login")
WINDOW = ("bash", "gnome-terminal-", "systemd", "systemd")
AT_THE_SEAT = presence.Session("seat0", remote=False, active=True)
OVER_SSH = presence.Session("", remote=True, active=True)


@pytest.mark.parametrize(
    ("terminal", "environ", "parents", "sessions", "here"),
    [
        ("/dev/tty1", {}, SHELL, (), True),
        ("/dev/tty1", {"SSH_TTY": "/dev/pts/3"}, SHELL, (), True),
        ("/dev/pts/0", {}, WINDOW, (AT_THE_SEAT,), True),
        ("/dev/pts/0", {}, ("kilnctl", "sudo", "zsh", "konsole"), (AT_THE_SEAT,), True),
        ("/dev/pts/0", {}, ("python3.11", "bash", "xterm"), (AT_THE_SEAT,), True),
        ("/dev/pts/0", {"SSH_CONNECTION": "10.0.0.7 1 10.0.0.2 22"}, WINDOW, (AT_THE_SEAT,), False),
        ("/dev/pts/0", {}, ("bash", "sshd-session", "sshd"), (AT_THE_SEAT,), False),
        ("/dev/pts/0", {}, ("bash", "tmux: server"), (AT_THE_SEAT,), False),
        ("/dev/pts/0", {}, ("bash", "mosh-server"), (AT_THE_SEAT,), False),
        ("", {}, WINDOW, (AT_THE_SEAT,), False),
        # what nobody has thought of counts as far
        ("/dev/pts/0", {}, ("bash", "some-browser-shell", "gnome-terminal-"), (AT_THE_SEAT,), False),
        ("/dev/pts/0", {}, ("bash", "code-tunnel"), (AT_THE_SEAT,), False),
        ("/dev/pts/0", {}, ("bash", "containerd-shim"), (AT_THE_SEAT,), False),
        ("/dev/pts/0", {}, (), (AT_THE_SEAT,), False),
        ("/dev/pts/0", {}, ("bash",), (AT_THE_SEAT,), False),
        ("/dev/ttyS0", {}, SHELL, (AT_THE_SEAT,), False),
        ("/dev/pts/0", {}, WINDOW, (), False),
        ("/dev/pts/0", {}, WINDOW, (OVER_SSH,), False),
        ("/dev/pts/0", {}, WINDOW, (AT_THE_SEAT, OVER_SSH), False),
        ("/dev/pts/0", {}, WINDOW, (presence.Session("", remote=False, active=True),), False),
        ("/dev/pts/0", {}, WINDOW, (presence.Session("seat0", remote=False, active=False),), False),
    ],
)
def test_who_is_known_to_be_at_the_machine(terminal, environ, parents, sessions, here) -> None:
    assert presence.is_here(terminal, environ, parents, sessions) is here


@pytest.mark.parametrize(
    ("environ", "parents", "sessions", "why"),
    [
        ({}, WINDOW, (AT_THE_SEAT,), ""),
        ({"SSH_TTY": "/dev/pts/0"}, WINDOW, (AT_THE_SEAT,), "over a network (ssh)"),
        ({}, ("bash", "tmux: server"), (AT_THE_SEAT,), 'a program ("tmux") stands between'),
        ({}, ("kilnctl", "zsh", "screen", "systemd"), (AT_THE_SEAT,), 'a program ("screen")'),
        ({}, WINDOW, (OVER_SSH,), "nothing shows that it is at this computer's own seat"),
        ({}, (), (), "nothing shows that it is at this computer's own seat"),
    ],
)
def test_why_somebody_counts_as_far_is_said(environ, parents, sessions, why) -> None:
    said = presence.why_afar("/dev/pts/0", environ, parents, sessions)
    assert why in said
    assert bool(said) is not presence.is_here("/dev/pts/0", environ, parents, sessions)


def test_a_test_run_has_no_terminal_and_is_not_there(monkeypatch) -> None:
    with open("/dev/null", encoding="utf-8") as nothing:
        monkeypatch.setattr("sys.stdin", nothing)
        assert not presence.here_now()


class Lamp:
    """I/O that only calls; what a person sees is read off afterwards."""

    def __init__(self, clock: VirtualClock) -> None:
        self.clock, self.calls, self.heat = clock, [], 0

    def sound(self, horn: bool, lamp: bool) -> str:
        self.calls.append((self.clock.real_s(), horn, lamp))
        return ""

    def drive(self, request: object) -> bool:
        self.heat += 1
        return True

    def seen(self, which: int) -> str:
        """Count the short calls between long pauses, as somebody who stands there does."""
        ons = [at for at, *on in self.calls if on[which]]
        offs = [at for (at, *on), (_, *before) in zip(self.calls[1:], self.calls, strict=False)
                if before[which] and not on[which]]  # fmt: skip
        short = [(on, off) for on, off in zip(ons, offs, strict=True) if off - on < 1.0]
        digits, last = [0], short[0][0]
        for on, off in short:
            if on - last > 1.5:
                digits.append(0)
            digits[-1] += 1
            last = off
        return "".join(map(str, digits))


@pytest.fixture
def oven():
    return load_oven(home.bundled("ovens") / "tempering-oven.toml")


def without(oven, *names):
    return oven.model_copy(update={"output": oven.output.model_copy(update=dict.fromkeys(names))})


@pytest.mark.parametrize(("missing", "which"), [((), 1), (("lamp",), 0)])
def test_what_the_lamp_or_horn_tells_is_what_is_asked_for(oven, missing, which) -> None:
    clock = VirtualClock()
    lamp = Lamp(clock)
    presence.prove(without(oven, *missing), lamp, clock, lambda _: " ".join(lamp.seen(which)))
    assert len(lamp.seen(which)) == NUMBERS
    assert lamp.calls[-1][1:] == (False, False)
    assert lamp.heat == 0
    assert clock.real_s() < 30.0


@pytest.mark.parametrize("answer", ["", "1 1 1", "y", "2 1 4 1"])
def test_a_guess_is_refused(oven, answer) -> None:
    clock = VirtualClock()
    with pytest.raises(RunRefused, match="at the machine, or not at all"):
        presence.prove(oven, Lamp(clock), clock, lambda _: answer, code="214")


def test_a_lamp_that_stays_dark_is_told_why_it_may(oven) -> None:
    """A board of invented make drops its lamp with the heat while nobody feeds it: it never lit."""
    clock = VirtualClock()
    with pytest.raises(RunRefused, match=r"stay dark .* the dead-man may drop"):
        presence.prove(oven, Lamp(clock), clock, lambda _: "", code="214")


def test_what_to_look_at_is_said_before_it_is_shown(oven) -> None:
    """A newcomer in two terminals looked for the numbers on the screen."""
    clock = VirtualClock()
    lamp, said = Lamp(clock), []
    presence.prove(
        oven, lamp, clock, lambda _: "214", code="214", say=lambda line: said.append((line, len(lamp.calls)))
    )
    ((line, calls),) = said
    assert calls == 0
    assert f"output.lamp ({oven.output.lamp.where} of {oven.output.lamp.device})" in line
    assert all(word in line for word in ("the board's own light", "a meter on its contact", "waits"))


def test_numbers_that_were_missed_are_shown_again_and_others(oven) -> None:
    lamp, told = Lamp(clock := VirtualClock()), []

    def ask(question: str) -> str:
        assert "Enter: other ones, q: leave" in question
        told.append(lamp.seen(1))
        lamp.calls.clear()
        clock.advance(3600.0)  # and the question waits
        return told[-1] if len(told) == 3 else ""

    presence.prove(oven, lamp, clock, ask)
    assert len(told) == 3


@pytest.mark.parametrize(
    ("typed", "waited_s"), [("", 4.0), ("y", 4.0), ("20", 20.0), ("90 s", 90.0), ("999", 300.0)]
)
def test_the_lamp_waits_until_somebody_can_see_it(oven, typed, waited_s) -> None:
    """It called 4 s after the text: whoever had to walk to the oven came too late, each time."""
    lamp, events = Lamp(clock := VirtualClock()), []

    def begin(question: str) -> str:
        assert "Enter" in question
        assert not lamp.calls
        clock.advance(500.0)
        events.append(clock.real_s())
        return typed

    seen = lambda _: events.append(lamp.calls[0][0]) or lamp.seen(1)  # noqa: E731
    presence.prove(oven, lamp, clock, seen, begin=begin)
    began_s, called_s = events
    assert called_s - began_s == pytest.approx(waited_s, abs=0.5)


def test_whoever_leaves_before_the_lamp_calls_has_seen_no_call(oven) -> None:
    lamp = Lamp(clock := VirtualClock())
    with pytest.raises(RunRefused, match=r"left.*the heat is off"):
        presence.prove(oven, lamp, clock, lambda _: "214", code="214", begin=lambda _: "q")
    assert not lamp.calls


def test_one_miscount_is_no_end_of_a_start(oven) -> None:
    """All its questions were asked again for it. A new start would show other numbers too."""
    clock = VirtualClock()
    lamp, answers, said = Lamp(clock), iter(["9", "", "seen"]), []

    def ask(_: str) -> str:
        typed = next(answers)
        told = lamp.seen(1) if typed == "seen" else typed
        lamp.calls.clear()
        return told

    presence.prove(oven, lamp, clock, ask, say=said.append)
    assert sum("other numbers" in line for line in said) == 2


def test_whoever_leaves_at_the_question_has_the_heat_off(oven) -> None:
    lamp = Lamp(clock := VirtualClock())
    with pytest.raises(RunRefused, match=r"left at the question.*the heat is off"):
        presence.prove(oven, lamp, clock, lambda _: "q")
    assert lamp.heat == 0
    assert lamp.calls[-1][1:] == (False, False)


def test_an_oven_that_cannot_call_is_confirmed_at_the_screen_only(oven) -> None:
    clock = VirtualClock()
    bare = without(oven, "lamp", "horn")
    with pytest.raises(RunRefused, match="own screen"):
        presence.prove(bare, Lamp(clock), clock, lambda _: "214", code="214")


def test_codes_are_drawn_anew(oven) -> None:
    seen = set()
    for _ in range(20):
        lamp = Lamp(clock := VirtualClock())
        presence.prove(oven, lamp, clock, lambda _, lamp=lamp: lamp.seen(1))
        seen.add(lamp.seen(1))
    assert len(seen) > 3
