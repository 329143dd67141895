"""Which heats were read back as off after they were seen open, whoever did it: a view of them may be old."""

import contextlib
from typing import Any

from kilnctl.errors import ConfigError
from kilnctl.marks import running_ovens


class ReadBackSince:
    """Remembers the marks of open heats: only an off that was read back forgets or turns one."""

    def __init__(self) -> None:
        self._seen: dict[str, str] = {}
        self.remember()

    def remember(self) -> None:
        """Remember whose heat is open now."""
        with contextlib.suppress(OSError, ConfigError):
            self._seen |= {oven: id_ for oven, id_ in running_ovens.heating().items() if id_}

    def off(self) -> frozenset[str]:
        """Return the ovens whose heat is over, read back as off, and that no later heat has."""
        with contextlib.suppress(OSError, ConfigError):
            marks, heating = running_ovens.ids(), running_ovens.heating()
            return frozenset(
                oven
                for oven, id_ in self._seen.items()
                if oven not in heating and id_ in (running_ovens.ended(oven), marks.get(oven))
            )
        return frozenset()

    def told(self, summary: dict[str, Any]) -> dict[str, Any]:
        """Return how a heat has ended, as it stands now: its record was closed before a late read-back."""
        if str(summary.get("oven")) in self.off():
            return {**summary, "heat_off_confirmed": True}
        return summary
