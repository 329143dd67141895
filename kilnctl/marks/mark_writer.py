"""Whoever writes heat looks at the marks: before anything is left on disk, before the first heat, each tick.

What is seen is gathered here; what follows from it says `protocol`.
"""

import os
from collections.abc import Callable
from dataclasses import dataclass

from kilnctl.marks import latch, running_ovens
from kilnctl.marks.off_stamp import StampWatch
from kilnctl.marks.oven_identity import OvenIdentity
from kilnctl.marks.protocol import Care, LatchWord, WriterSees, why_go_off, why_no_heat, with_mark

WORDS = {"unreadable": LatchWord.TORN}


@dataclass(frozen=True, slots=True)
class Ties:
    """What the process that heats knows of itself: a supervisor listens; who else has an oven's device."""

    supervised: Callable[[], bool]
    held_by: Callable[[str], str]


@dataclass(frozen=True, slots=True)
class Writer:
    """One heat of one oven. `identity` is the oven's for its latch; None where no latch bars it (a drill)."""

    oven: str
    watch: StampWatch
    ties: Ties
    identity: OvenIdentity | None = None

    def why_not_begin(self, resumes: int | None = None) -> str:
        """Return why nothing of a heat may be left on disk, empty where it may (`resumes`: a run)."""
        return self._why_not(resumes, begun=False)

    def why_unread(self) -> str:
        """Return why the mark of an earlier heat bars this one; asked before a person is asked anything."""
        why = why_no_heat(WriterSees(off=None, latch=LatchWord.FREE, mark=self._mark(begun=False)))
        return f'oven "{self.oven}": {why}' if why else ""

    def why_no_heat(self, run: int | None = None) -> str:
        """Return why the first heat must not flow, with own mark and latch on disk; empty where it may."""
        return self._why_not(run, begun=True)

    def why_go_off(self) -> str | None:
        """Return why the heat must go off in this tick, None where it need not. Some calls of stat."""
        return why_go_off(self.watch(), self.ties.supervised()) or None

    def _why_not(self, run: int | None, begun: bool) -> str:
        word, own = self._latch(run)
        why = why_no_heat(
            WriterSees(
                off=self.watch(),
                latch=word,
                mark=self._mark(begun),
                takes_up=own,
                held_by=self.ties.held_by(self.oven),
                latch_stands=self.identity is None or not begun or own,
                supervised=self.ties.supervised(),
            )
        )
        return f'oven "{self.oven}": {why}' if why else ""

    def _latch(self, run: int | None) -> tuple[LatchWord, bool]:
        """Return what the latch says, and whether the run that is meant armed it."""
        found = [] if self.identity is None else latch.of_device(self.oven, self.identity)
        others = [said for said in found if said.state != "armed" or said.run is None or said.run != run]
        said = next(iter(others or found), None)
        word = LatchWord.FREE if said is None else WORDS.get(said.state) or LatchWord(said.state)
        return word, bool(found) and not others

    def _mark(self, begun: bool) -> Care | None:
        found = running_ovens.of(self.oven)
        if found is None or not (found.heats or found.torn):
            return None  # what only watches has left nothing on
        mine = begun and found.owner is not None and found.owner.pid == os.getpid()
        return with_mark(found.torn, mine, found.lives, remembered=False)
