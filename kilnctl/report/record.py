"""One run as every output needs it, loaded once, with the marks that every output must carry."""

from dataclasses import dataclass
from functools import cached_property
from typing import Any

from kilnctl.care.going_on import going_on
from kilnctl.config.oven import Oven
from kilnctl.errors import ConfigError, KilnctlError, ProfileError
from kilnctl.logbook.readers import Curve, Reader, RunInfo
from kilnctl.logbook.records import Event, RunHeader
from kilnctl.logbook.verification import Verification
from kilnctl.profile.segments import Profile
from kilnctl.tomlfile import loads
from kilnctl.units import say_duration


@dataclass(frozen=True)
class Record:
    """A run: what was known before, what was measured, what happened, how it ended, whether it is whole.

    `goes_on` says that it was still running when it was read.
    """

    info: RunInfo
    header: RunHeader
    curve: Curve
    events: tuple[Event, ...]
    summary: dict[str, Any]
    verdict: Verification
    gaps: tuple[tuple[float, float], ...]
    goes_on: bool = False

    @cached_property
    def profile(self) -> Profile | None:
        """Return the profile as it was run, None where a newer program wrote something unknown."""
        try:
            return loads(self.header.profile, Profile, ProfileError, self.header.profile_name)
        except KilnctlError:
            return None

    @cached_property
    def oven(self) -> Oven | None:
        """Return the oven as it was when the run started, None where its file was not kept."""
        try:
            return loads(self.header.oven_file, Oven, ConfigError, self.info.oven)
        except KilnctlError:
            return None

    @property
    def simulated(self) -> bool:
        """True when nothing real was heated."""
        return self.info.simulated

    @property
    def marks(self) -> tuple[str, ...]:
        """Return the words that stand on every output of this run."""
        found = []
        if self.simulated:
            found.append("SIMULATED")
        if self.goes_on:
            found.append("STILL RUNNING")
        if self.verdict.gaps or self.verdict.lost or not (self.verdict.ended or self.goes_on):
            found.append("INCOMPLETE")
        if not self.verdict.chain_holds:
            found.append("CHANGED")
        return tuple(found)

    @property
    def why_marked(self) -> tuple[str, ...]:
        """Return one sentence per reason for a mark."""
        v, found = self.verdict, []
        if self.simulated:
            found.append("A model was run, nothing real was heated.")
        if self.goes_on:
            found.append("The run was still going when this page was written: what came later is not on it.")
        elif not v.ended:
            found.append("No end was recorded: the run broke off.")
        if self.gaps:
            found.append(f"{_gap_words(self.gaps)}.")
        if v.lost:
            found.append(f"{v.lost} samples could not be kept.")
        found += [f"Changed: {finding}." for finding in v.findings[:5]]
        if len(v.findings) > 5:
            found.append(f"Changed: {len(v.findings) - 5} more findings.")
        return tuple(found)


def _gap_words(gaps: tuple[tuple[float, float], ...]) -> str:
    lengths = [stop_s - start_s for start_s, stop_s in gaps]
    longest = lengths.index(max(lengths))
    place = f"from {say_duration(gaps[longest][0])} after the start"
    if len(gaps) == 1:
        return f"Nothing was recorded for {say_duration(lengths[0])}, {place}"
    return (
        f"Nothing was recorded for {say_duration(sum(lengths))} in all, in {len(gaps)} gaps; "
        f"the longest is {say_duration(lengths[longest])}, {place}"
    )


def load_record(reader: Reader, run: int, now_utc: float | None = None) -> Record:
    """Load and check a run. Raises RecordError when there is none, or its samples cannot be read.

    `now_utc` tells a run that goes on from one that broke off (None: it does not go on).
    """
    info = reader.run(run)
    return Record(
        info=info,
        header=reader.header(run),
        curve=reader.curve(run),
        events=tuple(reader.events(run)),
        summary=reader.summary(run),
        verdict=reader.verify(run),
        gaps=tuple(reader.gaps(run)),
        goes_on=now_utc is not None and going_on(reader, info, now_utc),
    )
