"""What the board really did before each question of the drop test: 0 V proves nothing of what is not held."""

import re

import pytest
from maker import Maker

from kilnctl.clock import VirtualClock
from kilnctl.commissioning.procedures import DOING
from kilnctl.commissioning.wizard import Shop, do_step
from kilnctl.config import home
from kilnctl.config.oven import load_oven
from kilnctl.logbook.writer import Logbook
from kilnctl.permits.setup_steps import BY_NAME
from kilnctl.rehearsal.virtual_io import VirtualIO
from simulator.boards.board import Board
from simulator.boards.faults import parse_fault
from simulator.oven import ovens

SENSING = load_oven(home.bundled("ovens") / "tempering-oven.toml")
BLIND = SENSING.model_copy(
    update={"signal": SENSING.signal.model_copy(update={"heater_live": None, "current_a": None})}
)
BARE = BLIND.model_copy(update={"output": BLIND.output.model_copy(update={"contactor": None})})
DEAD = "dead on (a|the) meter"
LEAST_S = 10.0  # nobody reads a meter sooner


class Looked(VirtualIO):
    """Keeps what relay, contactor and element really did in each tick."""

    def __init__(self, oven, board, clock, seen) -> None:
        super().__init__(oven, board, clock)
        self.seen = seen

    def scan(self, at_s):
        scan = super().scan(at_s)
        self.seen.append((bool(self.board.heater), bool(self.board.contactor), bool(self.board.live())))
        return scan


class AtTheMeter(Maker):
    """Answers y; keeps for each question what the board did since the one before."""

    def __init__(self, seen, no="", acts=None) -> None:
        super().__init__({"Note": "meter 3"}, no=no, acts=acts)
        self.seen, self.before = seen, {}

    def key(self, question: str) -> bool:
        self.before[question] = list(self.seen)
        self.seen.clear()
        return super().key(question)


def walked(oven, no="", acts=(), *faults, io=Looked):
    seen, clock = [], VirtualClock()
    board = Board(ovens.tempering_oven(3), seed=3, contactor=oven.output.contactor is not None)
    board.schedule([parse_fault(fault) for fault in faults])
    maker = AtTheMeter(seen, no, {words: (lambda act=act: act(board)) for words, act in dict(acts).items()})
    with Logbook(None) as book:
        shop = Shop(
            oven=oven,
            oven_text="text",
            person=maker,
            clock=clock,
            book=book,
            oven_io=lambda like: io(like, board, clock, seen),
            probe=None,  # type: ignore[arg-type]
        )
        kept = do_step(shop, BY_NAME["drop test"], DOING)
    assert not board.heater
    assert not (oven.output.contactor and board.contactor)
    return kept, maker


def before(maker, words):
    return next(seen for question, seen in maker.before.items() if re.search(words, question))


def test_each_part_is_held_before_its_question_and_each_is_announced() -> None:
    """A newcomer saw 0 V at every question: nothing was held, and his y counted as proof."""
    kept, maker = walked(BLIND)
    assert kept.passed, maker.text
    alone = [
        1 for relay, contactor, _ in before(maker, "Safety contactor dropped") if relay and not contactor
    ]
    assert len(alone) >= LEAST_S
    closed = [1 for relay, contactor, _ in before(maker, "Relay dropped while") if contactor and not relay]
    assert len(closed) >= LEAST_S
    stop = maker.before
    live = [seen for question, seen in stop.items() if "voltage" in question and seen]
    assert sum(both for _, _, both in live[-1]) >= 4 * LEAST_S
    assert maker.text.count("heat may come on from now") >= 3


def test_without_a_contactor_the_limit_is_opened_with_the_heat_on() -> None:
    kept, maker = walked(BARE)
    assert kept.passed, maker.text
    text = maker.text
    assert text.index("heat may come on") < text.index("open the independent limit now")
    held = next(seen for question, seen in maker.before.items() if "voltage" in question)
    assert sum(relay for relay, _, _ in held) >= 4 * LEAST_S


class Drops(Looked):
    """A relay that drops by itself after so many ticks; its board says so."""

    def scan(self, at_s):
        if len(self.seen) % 9 == 8:
            self.board.heater = False
        return super().scan(at_s)


@pytest.mark.parametrize("oven", [BLIND, BARE])
def test_a_relay_that_does_not_hold_proves_nothing(oven) -> None:
    kept, maker = walked(oven, io=Drops)
    assert not kept.passed
    assert "nothing is proved" in kept.note
    assert not [one for one in maker.before if re.search(DEAD, one)]


@pytest.mark.parametrize(
    ("no", "oven", "said"),
    [
        ("voltage", BLIND, "proves nothing when it is off"),
        ("Meter on the heater", BLIND, "not tested"),
        ("Isolator on", BARE, "not tested"),
        ("limit opened while", BARE, "isolate, have the wiring mended"),
        ("heat may come on", BARE, "not begun"),
    ],
)
def test_what_was_not_seen_has_not_passed(no, oven, said) -> None:
    kept, _ = walked(oven, no)
    assert not kept.passed
    assert said in kept.note


def test_a_welded_contactor_is_seen_by_a_contact_at_the_element() -> None:
    kept, _ = walked(SENSING, "", {}, "contactor-welded@0")
    assert not kept.passed
    assert "STILL LIVE" in kept.note


def test_a_contact_at_the_element_sees_that_the_stop_was_pressed() -> None:
    def press(board) -> None:
        board.schedule([parse_fault(f"supply-lost@{board.at_s + 2.0:.0f}s")])

    kept, maker = walked(SENSING, "", {"press the emergency stop now": press})
    assert kept.passed, maker.text
    assert "emergency stop: seen, and the element is dead" in maker.text
    late, _ = walked(SENSING)
    assert not late.passed
    assert "within two minutes" in late.note


class RefusesAlone(Looked):
    """No heat while its contactor is off, as its mode is both; `never` takes none at all."""

    never = False

    def drive(self, request):
        self.refused = ""
        if request.on and (self.never or not self._has_contactor):
            self.refused = "board, writing 1 to holding 102: the device refuses: (exception 04)"
            return False
        return super().drive(request)


class RefusesAlways(RefusesAlone):
    """The same, for another reason."""

    never = True


def test_where_heat_is_refused_without_the_contactor_the_limit_cuts_it_held() -> None:
    """Such a panel never passed; its refusal alone proves no contactor."""
    kept, maker = walked(BLIND, io=RefusesAlone)
    assert kept.passed, maker.text
    assert "refuses heat while its contactor output is off" in maker.text
    assert not any(relay for relay, _, _ in before(maker, "contactor seen dropped"))
    assert sum(live for _, _, live in before(maker, "voltage")) >= 4 * LEAST_S
    asked = list(maker.before)
    order = ("contactor seen dropped", "limit opened while", "Relay dropped while", "stop pressed|off while")
    places = [next(i for i, one in enumerate(asked) if re.search(words, one)) for words in order]
    assert places == sorted(places)
    assert "open the independent limit now" in maker.text


@pytest.mark.parametrize("no", ["contactor seen dropped", "limit opened while", "voltage"])
def test_each_look_of_such_a_board_must_be_made(no) -> None:
    kept, _ = walked(BLIND, no, io=RefusesAlone)
    assert not kept.passed


def test_heat_that_is_refused_with_the_contactor_on_too_has_not_passed() -> None:
    kept, _ = walked(BLIND, io=RefusesAlways)
    assert not kept.passed
    assert "no heat" in kept.note
