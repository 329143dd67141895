"""Dialogs: a question whose safe answer has the focus, and a line of text."""

from collections.abc import Callable
from typing import ClassVar, TypeVar

from textual import events
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Horizontal, Vertical
from textual.screen import ModalScreen
from textual.widgets import Button, Input, Label

LONGEST = 200  # characters of a note
SIZES = """
    Question, TextEntry { align: center bottom; background: $background 0%; }
    Question > Vertical, TextEntry > Vertical {
        width: 64; max-width: 100%; height: auto; padding: 0 2;
        border: heavy $strong; background: $panel; margin-bottom: 3;
    }
    Question Label, TextEntry Label { width: 100%; }
    Question Horizontal { height: auto; align-horizontal: center; margin-top: 1; }
    Question Button { margin: 0 1; min-width: 14; }
    Question Button:focus { text-style: bold reverse; }
    Label.hint { color: $soft; text-align: center; }
    TextEntry Input { margin-top: 1; }
"""


T = TypeVar("T")


class Dialog(ModalScreen[T]):
    """A dialog that is answered once: a key that bounces, or a raw paste, answers no second time.

    The library would take the screen below away, whatever it is.
    """

    def answer(self, result: T) -> None:
        """Answer, unless it has been answered."""
        if self.is_current:
            self.dismiss(result)


class Question(Dialog[bool]):
    """Ask before heat is added or a safeguard removed. Escape and Enter give the safe answer."""

    DEFAULT_CSS = SIZES
    BINDINGS: ClassVar[list[BindingType]] = [
        ("escape", "answer_no", "no"),
        ("left,right,up,down", "app.focus_next", "other answer"),
    ]

    def __init__(self, ask: str, yes: str, no: str) -> None:
        super().__init__()
        self._words = (ask, yes, no)

    def compose(self) -> ComposeResult:
        """Lay out the question with the safe answer first."""
        ask, yes, no = self._words
        with Vertical():
            yield Label(ask, markup=False)
            with Horizontal():
                yield Button(no, id="no")
                yield Button(yes, id="yes")
            yield Label("Arrows choose, Enter answers, Esc cancels.", classes="hint")

    def on_mount(self) -> None:
        """Give the safe answer the focus."""
        for button in self.query("#no"):  # none where a trip has closed it in the same moment
            button.focus()

    def on_button_pressed(self, event: Button.Pressed) -> None:
        """Answer."""
        self.answer(event.button.id == "yes")

    def action_answer_no(self) -> None:
        """Give the safe answer."""
        self.answer(False)


class OneLine(Input):
    """A field of one line: pasted lines are joined, and what does not fit is cut where it can be seen.

    The library takes the first line of many, and nothing at all of a text that is too long.
    """

    def _on_paste(self, event: events.Paste) -> None:
        event.prevent_default()
        event.stop()
        pasted, room = " ".join(event.text.split()), (self.max_length or LONGEST) - len(self.value)
        self.insert_text_at_cursor(pasted[:room])
        if len(pasted) > room:
            self.app.bell()


class TextEntry(Dialog[str]):
    """Ask for a line of text; Escape gives an empty one. `submitted` is called at once on Enter."""

    DEFAULT_CSS = SIZES
    BINDINGS: ClassVar[list[BindingType]] = [("escape", "leave_empty", "leave")]

    def __init__(self, ask: str, example: str, submitted: Callable[[], None] = lambda: None) -> None:
        super().__init__()
        self._words, self._submitted = (ask, example), submitted

    def compose(self) -> ComposeResult:
        """Lay out the question and the field."""
        ask, example = self._words
        with Vertical():
            yield Label(ask, markup=False)
            yield OneLine(placeholder=f"e.g. {example}", max_length=LONGEST)
            yield Label("Enter saves, Esc cancels.", markup=False)

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Answer with what was written."""
        self._submitted()
        self.answer(event.value.strip())

    def action_leave_empty(self) -> None:
        """Give an empty line."""
        self.answer("")
