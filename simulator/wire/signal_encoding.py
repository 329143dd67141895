"""One signal on its way out of a board: how a physical value becomes somebody's raw number, and back."""

from dataclasses import dataclass

from thermocouple_its90 import get as couple_of

from simulator.boards.board import Board
from simulator.boards.io_points import tell, value


@dataclass(frozen=True, slots=True)
class Wire:
    """A named point of a board and its raw number: value = raw * scale + offset.

    `point` is a name of boards.io_points, or "constant" (its raw number is `on`, the board's identity).
    `unit` is "" (as it is), "F" or "mV" (of `couple`, against the cold junction). `broken` makes it a bit
    that says "sensor open"; `open_raw` is the number that says so. Switches and coils are `on` and `off` when
    they are outputs, 1 and 0 (the other way round if `inverted`) when they are inputs; `reads` are the
    numbers that are read for no and yes where they are others. `step` is that of a duty. `holds_s` is how
    long a pulse or a feeding lasts; with `edge` only a change to `on` feeds, as one starts a timer relay.
    `feeds_s` is how long reading or writing a set-point feeds the board's dead-man: an instrument takes any
    talk for a sign of life, unless `read_feeds` is false; of a duty only writing is. `counts`: only a number
    unlike the last one feeds.
    """

    point: str
    output: bool = False
    unit: str = ""
    couple: str = "K"
    scale: float = 1.0
    offset: float = 0.0
    open_raw: float | None = None
    broken: bool = False
    inverted: bool = False
    on: float = 1
    off: float = 0
    reads: tuple[float, float] | None = None
    step: float = 1.0
    holds_s: float = 10.0
    feeds_s: float = 0.0
    read_feeds: bool = True
    edge: bool = False
    counts: bool = False

    def raw(self, board: Board) -> float | None:
        """Return the raw number now; None for an open sensor without a number that says so."""
        if self.point == "constant":
            return self.on if board.flaws.identity is None else board.flaws.identity
        seen = value(board, self.point)
        if self.feeds_s and self.read_feeds and self.point == "goal":
            tell(board, "fed", self.feeds_s)
        if self.reads:
            yes = seen is None if self.broken else bool(seen)
            return self.reads[yes ^ self.inverted]
        if self.broken:
            return float((seen is None) ^ self.inverted)
        if seen is None:
            return self.open_raw
        if self.output and self.point in ("duty", "goal"):
            return self._fine(seen)
        if self.output:
            return self.on if seen else self.off
        return float(not seen) if self.inverted else (self._shown(seen, board) - self.offset) / self.scale

    def _fine(self, shows: float) -> float:
        if self.point == "duty":
            return round((self.off + (self.on - self.off) * shows) / self.step) * self.step
        shown = shows * 1.8 + 32.0 if self.unit == "F" else shows
        return (shown - self.offset) / self.scale

    def _shown(self, shown: float, board: Board) -> float:
        if self.unit == "F":
            return shown * 1.8 + 32.0
        if self.unit == "mV":
            couple = couple_of(self.couple)
            low_c, high_c = couple.range  # beyond its table a couple is gone; the voltage stays at the end
            cold_c = value(board, "cold_junction") or 0.0
            return float(couple.emf(min(max(shown, low_c), high_c)) - couple.emf(cold_c))
        return shown

    def write(self, board: Board, raw: float) -> None:
        """Let a raw number act on the board."""
        if self.point == "duty":
            tell(board, "duty", (raw - self.off) / (self.on - self.off))
            if self.feeds_s:
                tell(board, "fed", self.feeds_s)
        elif self.point == "goal":
            goal = raw * self.scale + self.offset
            tell(board, "goal", (goal - 32.0) / 1.8 if self.unit == "F" else goal)
            tell(board, "fed", self.feeds_s)
        elif self.point == "fed":
            if self.edge:
                if raw == self.on and board.keep_alive != raw:
                    tell(board, "fed", self.holds_s)
                board.keep_alive = raw
            elif self.counts:
                if board.keep_alive != raw:
                    tell(board, "fed", self.holds_s)
                board.keep_alive = raw
            elif raw in (self.on, 0):
                tell(board, "fed", self.holds_s if raw else 0.0)
        elif self.point == "pulse":
            tell(board, "pulse", self.holds_s if raw == self.on else 0.0)
        else:
            tell(board, self.point, float(raw == self.on))
