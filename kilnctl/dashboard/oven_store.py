"""The newest picture of every oven, the curve of each so far, and which oven is looked at."""

from dataclasses import replace

from kilnctl.dashboard.history import History
from kilnctl.link.snapshot import Snapshot
from kilnctl.stages import HOT_C


class Gallery:
    """What has come in. `oven` is the one that is looked at, None until the first picture."""

    def __init__(self, oven: str | None) -> None:
        self.oven = oven
        self.newest: dict[str, Snapshot] = {}
        self.histories: dict[str, History] = {}

    def take(self, s: Snapshot) -> History | None:
        """Keep a picture; return the history of a run that is new here, whose past is not known yet."""
        self.newest[s.oven] = s
        self.oven = self.oven or s.oven
        history, begun = self.histories.get(s.oven), None
        if history is None or history.run != s.run:
            history = begun = self.histories[s.oven] = History(s.run)
        history.add(s)
        return begun if s.run is not None else None

    def release(self, s: Snapshot, at: str) -> None:
        """Show a tripped oven as reset at a clock time: its controller sends no more pictures."""
        hot = s.process_c is None or s.process_c >= HOT_C
        self.newest[s.oven] = replace(
            s,
            word="off but hot" if hot else "cold",
            outcome=f"tripped, reset {at}",
            trip="",
            trip_kind="",
            trip_later=(),
            alarms=tuple(a for a in s.alarms if a.kind != s.trip_kind),
        )

    @property
    def shown(self) -> Snapshot | None:
        """The picture that is looked at."""
        return self.newest.get(self.oven or "")

    @property
    def others(self) -> tuple[Snapshot, ...]:
        """The pictures of all other ovens, by name."""
        return tuple(self.newest[name] for name in sorted(self.newest) if name != self.oven)

    def turn(self) -> None:
        """Look at the next oven."""
        names = sorted(self.newest)
        if self.oven in names:
            self.oven = names[(names.index(self.oven) + 1) % len(names)]
