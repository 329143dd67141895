"""The keys: one list for bindings, key row and command palette."""

import contextlib
from dataclasses import dataclass
from functools import cache

from textual.command import CommandPalette, DiscoveryHit, Hit, Hits, Provider
from textual.content import Content
from textual.widget import Widget

from kilnctl.dashboard.quench_timer import QuenchTimer
from kilnctl.dashboard.view_state import View, unanswered
from kilnctl.stages import LIVE


@dataclass(frozen=True, slots=True)
class Key:
    """A key, what it does, how the key row calls it, how the palette does."""

    key: str
    action: str
    label: str
    help: str
    shown: str = ""


KEYS = (
    Key("space", "step", "done", "Step done; starts and advances the timer from furnace to clamp", "SPACE"),
    Key("w", "wait", "more time", "More time for the step that waits"),
    Key("x", "abandon", "end here", "End the heat at the step that waits"),
    Key("a", "acknowledge", "acknowledge", "Acknowledge all alarms; resets nothing"),
    Key("r", "reset", "reset", "Reset a trip, with a note; the heat stays off"),
    Key("q", "leave", "leave", "Leave this screen; the heat continues"),
    Key("f", "far", "far view", "Large letters, for reading across the shop"),
    Key("u", "unit", "°C/°F", "Change between °C and °F"),
    Key("t", "span", "time", "Curve: whole heat, last 30 min, around now"),
    Key("1", "page(1)", "all", "Page 1: everything", ""),
    Key("2", "page(2)", "curve", "Page 2: the curve alone", ""),
    Key("3", "page(3)", "plan", "Page 3: the plan in full", ""),
    Key("4", "page(4)", "limits", "Page 4: all interlocks", ""),
    Key("5", "page(5)", "alarms", "Page 5: all alarms", ""),
    Key("question_mark,f1", "help", "help", "This help, and back", "?"),
    Key("o", "oven", "oven", "Show the next oven"),
    Key("l", "look", "colours", "Dark, light, monochrome"),
    Key("n", "result", "result", "Write a file or tester result into the record"),
    Key("", "longer", "longer", "Soak 10 minutes longer"),
    Key("", "skip", "next", "Go to the next step"),
    Key("g", "lower", "lower", "Lower the goal of this ramp or soak; never raises it"),
)
HEATING_ACTIONS = ("step", "wait", "abandon", "acknowledge", "reset", "longer", "skip", "lower", "result")
AT_ONCE = ("step", "wait", "acknowledge")  # these ask nothing first
# What changes the plan, and in which segments it means anything.
CHANGES = {"longer": ("soak",), "lower": ("ramp", "soak"), "skip": ("ramp", "soak", "cool", "operator")}


def _kind(v: View) -> str:
    """Return the kind of the running segment, empty where none runs."""
    index = v.s.segment
    return v.s.segments[index].kind if index is not None and index < len(v.s.segments) else ""


def means_anything(action: str, v: View | None, counting: bool) -> bool:
    """Return whether an action means anything now; off and leaving always do."""
    if action not in (*HEATING_ACTIONS, "oven"):
        return True
    if v is None or (v.read_only and action in HEATING_ACTIONS):
        return False
    waits = v.s.waiting is not None
    match action:
        case "step":
            return counting or waits
        case "wait" | "abandon":
            return waits
        case "acknowledge":
            answerable = v.attached or not v.heard  # where the controller has gone, only this screen hears it
            return (answerable and bool(unanswered(v.s))) or (v.banner and not v.hushed)
        case "reset":
            return bool(v.s.trip)
        case "oven":
            return len(v.ovens) > 1 and not counting
        case "longer" | "skip" | "lower":
            return v.s.state in LIVE and _kind(v) in CHANGES[action]
    return True


class KeyRow(Widget):
    """The last row: keys that mean something now. A click does the same."""

    DEFAULT_CSS = "KeyRow { height: 1; width: 1fr; }"

    def __init__(self, *, id: str) -> None:
        super().__init__(id=id)
        self._content = Content("")

    def show(self, v: View) -> None:
        """Show the keys that fit, off always first."""
        content = key_row(v, getattr(self.app, "hands", None), self.size.width)
        if content != self._content:
            self._content = content
            self.refresh()

    def render(self) -> Content:
        """Return the row."""
        return self._content


def key_row(v: View, hands: QuenchTimer | None, width: int) -> Content:
    """Return the row of keys for a width."""
    row = _off(v.off_key)
    keys = [("?", "help", "help"), ("^p", "all keys", "command_palette"), ("1–5", "pages", "next_page")]
    found = [(k.shown or k.key, k.label, k.action) for k in KEYS if k.key and k.key not in "12345"]
    hidden = ("look", "help") if _may_have_result(v) else ("look", "help", "result")
    wanted = [k for k in found if means_anything(k[2], v, hands is not None) and k[2] not in hidden]
    if hands is not None:
        wanted = [("SPACE", hands.mark, "step")]
    elif v.s.waiting is not None and v.s.waiting.step == "quench":
        wanted = [("SPACE", "leaves furnace", a) if a == "step" else (k, w, a) for k, w, a in wanted]
    urgent = [k for k in wanted if k[2] in HEATING_ACTIONS and k[2] not in CHANGES]
    for key, label, action in [*urgent, *keys, *(k for k in wanted if k not in urgent)]:
        cell = _cell(key, label, action)
        if row.cell_length + cell.cell_length > width:
            break
        row = Content("").join([row, cell])
    return row


@cache  # the same few, twice a second
def _off(words: str) -> Content:
    return Content.from_markup(f"[@click=app.off][bold reverse $strong] {words} [/][/]")


@cache
def _cell(key: str, label: str, action: str) -> Content:
    return Content.from_markup(f"  [@click=app.{action}][bold $strong]{key}[/] [$soft]{label}[/][/]")


def _may_have_result(v: View) -> bool:
    """Return whether somebody may be about to file or test the part."""
    checking = v.s.waiting is not None and v.s.waiting.step == "check"
    return checking or (v.s.run is not None and v.s.state not in LIVE)


def _entry(key: Key) -> str:
    """Return one row of the palette: the key, where there is one, and what it does."""
    name = key.shown or {"question_mark,f1": "?", "f9": "F9"}.get(key.key, key.key)
    return f"{name:<6} {key.help}"


class Finder(CommandPalette):
    """The palette. The library moves by a page in a list that it has not laid out yet, and falls over it."""

    def _action_command_list(self, action: str) -> None:
        with contextlib.suppress(KeyError):
            super()._action_command_list(action)


class Palette(Provider):
    """Everything that a key does, and what has no key, found by words."""

    async def discover(self) -> Hits:
        """Offer everything."""
        for key in self._possible():
            yield DiscoveryHit(_entry(key), self._runner(key))

    async def search(self, query: str) -> Hits:
        """Offer what matches."""
        matcher = self.matcher(query)
        for key in self._possible():
            score = matcher.match(_entry(key))
            if score > 0:
                yield Hit(score, matcher.highlight(_entry(key)), self._runner(key))

    def _possible(self) -> list[Key]:
        off = Key("f9", "off", "OFF", "Heat off, every oven, at once")
        view = getattr(self.app, "view", None)
        counting = getattr(self.app, "hands", None) is not None
        possible = [k for k in KEYS if means_anything(k.action, view, counting)]
        return [off, *sorted(possible, key=lambda k: k.action not in HEATING_ACTIONS)]

    def _runner(self, key: Key):  # type: ignore[no-untyped-def]
        async def run() -> None:
            await self.app.run_action(f"app.{key.action}")

        return run
