"""All that a panel may know: the newest snapshot, how old it is, and how the person wants to see it."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from kilnctl.dashboard.formatting import LATCHED, Degrees, Face, face, old_face
from kilnctl.link.snapshot import AlarmView, Snapshot
from kilnctl.link.trip_head import RANK, level_of
from kilnctl.stages import HOT_C, LIVE

CELSIUS = Degrees()
GREY_S, BANNER_S = 3.0, 10.0


@dataclass(frozen=True, slots=True)
class CutInstead:
    """What whoever cut the heat in the controller's place says, and which ovens it has read back as off."""

    words: str = ""
    read_back: Mapping[str, bool] = field(default_factory=dict)

    @property
    def failed(self) -> bool:
        """True where an oven was not read back as off: hands must cut the power."""
        return not all(self.read_back.values())

    def proves_off(self, s: Snapshot) -> bool:
        """Return whether this oven's heat was read back as off since; heat seen after an off outweighs it."""
        return bool(self.words) and not self.failed and s.oven in self.read_back and not s.still_on


@dataclass(frozen=True, slots=True)
class View:
    """What is to be shown. `age_s` is the age of the snapshot in unscaled seconds.

    `attached` is False when the controller has hung up; `read_only` screens can only switch off;
    `answer` is the last answer to a key of this screen; `ovens` names all that can be looked at; `heard` is
    True when somebody here has acknowledged just these alarms, which silences this screen's bell, `hushed`
    that an old picture has been seen to be old. `cut` is what the supervisor has said and done since;
    `elsewhere` is another oven that calls for somebody; `reasons` says why each segment is there;
    `brief` that large letters need the rows, `low` that the terminal has few of them;
    `web` that it is a page in a browser.
    """

    s: Snapshot
    degrees: Degrees = CELSIUS
    age_s: float = 0.0
    attached: bool = True
    plain: bool = False
    read_only: bool = False
    answer: str = ""
    ovens: tuple[str, ...] = ()
    heard: bool = False
    hushed: bool = False
    cut: CutInstead = field(default_factory=CutInstead)
    elsewhere: Snapshot | None = None
    reasons: tuple[str, ...] = ()
    brief: bool = False
    low: bool = False
    web: bool = False

    @property
    def grey(self) -> bool:
        """True when the picture is too old to be taken for live."""
        return self.age_s >= GREY_S or not self.attached

    @property
    def cold(self) -> bool:
        """True when the last reading burns nobody."""
        return self.s.process_c is not None and self.s.process_c < HOT_C

    @property
    def over(self) -> bool:
        """True when the controller has left an oven after a heat that ended well: cold, or off and read back.

        After a trip a relay may be welded: only a cold oven counts as well then.
        """
        s = self.s
        off = s.heat_on is False and s.state != "tripped"
        gone = s.left or not self.attached
        return gone and s.state not in LIVE and s.heat_on is not True and (off or self.cold)

    @property
    def stale(self) -> bool:
        """True when nobody knows whether what the picture shows still holds."""
        return self.grey and not self.over

    @property
    def timeless(self) -> bool:
        """True when nobody knows how long the heat will take: an old picture, or a plan that stands still."""
        return self.stale or self.s.waits_for != ""

    @property
    def face(self) -> Face:
        """How the state looks now."""
        if self.stale:
            return old_face(self.s, self.cut.proves_off(self.s))
        return LATCHED if self.over and self.s.trip else face(self.s)

    @property
    def off_key(self) -> str:
        """The key that switches off, and whether it means more ovens than the one shown."""
        return "F9 ALL OFF" if len(self.ovens) > 1 else "F9 OFF"

    @property
    def banner(self) -> bool:
        """True when the picture is so old that everybody must be told."""
        return not self.over and (self.age_s >= BANNER_S or not self.attached)


def calls(s: Snapshot) -> bool:
    """Return whether an oven calls for somebody: a trip, a step that waits, an unanswered alarm."""
    return bool(s.trip or s.waiting is not None or unanswered(s))


def cut_short(s: Snapshot) -> bool:
    """Return whether a heat is over before its plan was."""
    return s.state not in LIVE and s.outcome not in ("", "complete")


def most_urgent(others: Iterable[Snapshot]) -> Snapshot | None:
    """Return the oven that calls most urgently, None where none does: heat that may be on goes first."""
    calling_ = [s for s in others if calls(s)]
    return max(calling_, key=lambda s: RANK[level_of(s)] if s.trip else -1, default=None)


def unanswered(s: Snapshot) -> list[AlarmView]:
    """Return the alarms that nobody has acknowledged, the first cause and the most urgent first."""
    order = {"urgent": 0, "soon": 1, "later": 2}
    waiting = [a for a in s.alarms if not is_acknowledged(a)]
    return sorted(waiting, key=lambda a: (not a.first_out, a.gone, order.get(a.priority, 3), a.since_s))


def calling(s: Snapshot) -> tuple[str, ...]:
    """Return what calls for an answer now, to know later whether it is still the same."""
    return (s.trip, *(alarm.kind for alarm in unanswered(s)))


def is_acknowledged(alarm: AlarmView) -> bool:
    """Return whether somebody has answered an alarm (words of interlocks.alarms)."""
    return alarm.state in ("acknowledged", "latched, acknowledged", "shelved")
