"""A fault of the screen itself: it is kept, no page of code is shown, and the screen is there again."""

from pathlib import Path
from typing import Any

import pytest
from dashboard.feed import Wire, flat, heating, text_of

from kilnctl.cli.watch import watch
from kilnctl.clock import VirtualClock
from kilnctl.dashboard import base_app
from kilnctl.dashboard.app import WatchApp


class Faulty(WatchApp):
    """A screen without a terminal; it has a fault, or shows what it shows and is left."""

    CSS_PATH = str(Path(base_app.__file__).with_name("look.tcss"))
    sound, shows = False, ""

    def run(self, **_: Any) -> None:
        super().run(headless=True, size=(120, 35))

    def take(self, s: Any) -> None:
        super().take(s)
        self.set_timer(0.1, self.last_look)

    def last_look(self) -> None:
        if not self.sound:
            raise KeyError(0)
        self.redraw()
        self.shows = flat(text_of(self))
        self.exit()


def test_a_screen_with_a_fault_is_opened_anew_and_says_so(
    own_home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    made: list[Faulty] = []

    def opened(settled: object) -> Faulty:
        made.append(Faulty(Wire(heating()), VirtualClock()))
        made[-1].sound = len(made) == 3
        return made[-1]

    watch.keep_open(opened)
    assert [app.return_code for app in made] == [base_app.FAULT, base_app.FAULT, 0]
    assert "the screen had a fault and was reopened (details in" in made[-1].shows
    assert "▲ heating" in made[-1].shows
    assert (own_home / "fault.log").read_text().count("KeyError: 0") == 2
    assert capsys.readouterr() == ("", "")


def test_a_fault_that_every_screen_has_is_said_in_the_end(own_home: Path) -> None:
    with pytest.raises(KeyError):
        watch.keep_open(lambda _settled: Faulty(Wire(heating()), VirtualClock()))
