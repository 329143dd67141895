"""One oven wired up for one job: I/O, interlocks, controller, part, dose, latch."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from math import inf
from typing import Any

from kilnctl.care.calibration import Correction
from kilnctl.config.oven import Oven
from kilnctl.control.heat_controller import HeatController
from kilnctl.control.setpoint_follower import Following
from kilnctl.devices.interfaces import HeatRequest, OvenIO
from kilnctl.devices.outputs import heats
from kilnctl.heat.cooldown_watch import COAST_S
from kilnctl.heat.current_segment import CurrentSegment
from kilnctl.heat.skin_watch import SkinWatch, skin_watch
from kilnctl.heat.tune_run import Learner
from kilnctl.interlocks import Interlock, Thresholds, build
from kilnctl.interlocks.contract import live, sighted
from kilnctl.interlocks.stuck_on import DUTY_ALLOWED_S
from kilnctl.model import part as slab
from kilnctl.model.nameplate import nameplate
from kilnctl.model.oven_model import OvenModel
from kilnctl.model.part import PartModel, PartState
from kilnctl.profile.segments import Profile
from kilnctl.readings import Alarm, Observation, Scan, Trip, Unlike
from kilnctl.treatment.outcome import PartSample, outcome
from kilnctl.treatment.steel.steels import Steel, load_steel
from kilnctl.treatment.steel.temper.dose import Dose, advance_dose, dose_data, dose_for


def _no_latch(_trip: Trip) -> None:
    """Rehearsals latch nothing on disk."""


def _nothing() -> None:
    """Rehearsals hold no latch."""


@dataclass(frozen=True)
class Station:
    """What a runner needs of one oven. `latch_trip` and `release_latch` write the latch on disk.

    `latch_trip` is called again with harder words while a trip stands. `coast_k` is what a learned oven may
    gain once its heat is cut, infinite where it has not been learned, `coast_s` for how long. `checks` is how
    each interlock that is not blind here judges, in their order; `switched` is True where this program
    switches the relay itself; `power_w` is the oven file's.
    """

    oven: Oven
    oven_io: OvenIO
    controller: HeatController | Following | Learner
    interlocks: tuple[Interlock, ...]
    part_model: PartModel | None = None
    skin: SkinWatch | None = None
    steel: Steel | None = None
    corrections: Mapping[str, Correction] = field(default_factory=dict)
    ambient_c: float = 20.0
    coast_k: float = inf
    coast_s: float = COAST_S
    latch_trip: Callable[[Trip], None] = _no_latch
    release_latch: Callable[[], None] = _nothing
    checks: tuple[Callable[[Observation], Trip | Alarm | None], ...] = field(init=False)
    switched: bool = field(init=False)
    power_w: float = field(init=False)

    def __post_init__(self) -> None:
        # Looked up once: a cached property is looked up in every tick where the program is compiled.
        object.__setattr__(self, "checks", tuple(interlock.check for interlock in sighted(self.interlocks)))
        object.__setattr__(self, "switched", self.oven.output.heater.kind in ("switch", "pulse"))
        object.__setattr__(self, "power_w", self.oven.power_w)

    @property
    def can_call(self) -> bool:
        """True where the oven has a horn or a lamp."""
        return self.oven.output.horn is not None or self.oven.output.lamp is not None

    def part_start(self) -> PartState | None:
        """Return the part at room temperature, or None where nothing is known of the part."""
        return None if self.part_model is None else slab.start(self.part_model, self.ambient_c)

    def part_advance(
        self, state: PartState | None, chamber_c: float, dt_s: float, inside: bool
    ) -> PartState | None:
        """Return the part dt_s seconds later in a chamber at chamber_c; None while it is outside.

        A part that comes (back) in is taken for cold: a soak that is too long by that harms less.
        """
        if self.part_model is None or not inside:
            return None
        if state is None:
            return slab.start(self.part_model, self.ambient_c)
        return slab.advance(self.part_model, state, chamber_c, dt_s)

    def bears(
        self, current: CurrentSegment, index: int, scan: Scan, request: HeatRequest, dt_s: float
    ) -> float:
        """Return the highest duty that a part in sight of the elements bears now, with this tick seen."""
        if self.skin is None or scan.process.value is None:
            return 1.0
        self.skin.see(index, current.part_inside, scan.process.value, self.share(request), dt_s)
        return self.skin.most_duty

    @property
    def may_live_s(self) -> float:
        """Return how long the element may be live after off, in seconds: the rest of a pulse."""
        return 0.0 if self.switched else DUTY_ALLOWED_S

    def heats(self, request: HeatRequest) -> bool:
        """True when a request asks for any heat."""
        return request.on if self.switched else heats(self.oven.output.heater, request)

    def share(self, request: HeatRequest) -> float:
        """Return the share of full heat (0..1) that a request asks for."""
        return (1.0 if request.on else 0.0) if self.switched else request.duty

    def heat_w(self, scan: Scan, request: HeatRequest) -> float:
        """Return the heat that flows as far as can be seen, in watt.

        An instrument that regulates by itself shows it only through contact or current sensor.
        """
        if not self.switched:
            if self.oven.output.heater.kind == "duty":
                return self.power_w * request.duty if scan.heat_on else 0.0
            return self.power_w if scan.heater_live else 0.0
        return self.power_w if scan.heat_on else 0.0

    def rated_w(self, scan: Scan) -> float | None:
        """Return what the element draws at the file's supply voltage, in watt, by its measured current.

        V^2 / R with R from current and, where it is measured, the voltage now. None where the current is not
        measured, or does not flow.
        """
        current = scan.current_a
        if current is None or current.value is None or not live(scan):
            return None
        nominal_v = self.oven.supply_v
        if nominal_v is None:
            return None
        volts = scan.supply_v.value if scan.supply_v is not None else None
        return nominal_v**2 * current.value / (volts or nominal_v)

    @property
    def unlike(self) -> Unlike | None:
        """Return how far the oven of this heat is from the learned one, None while nobody can say."""
        return self.controller.unlike if isinstance(self.controller, HeatController) else None

    def drawn(self, scan: Scan) -> float | None:
        """Return what the element draws as a share of the file's power, None where nothing measures it."""
        if scan.current_a is None:
            return None
        rated_w = self.rated_w(scan)
        return None if rated_w is None else rated_w / self.power_w

    def dose_start(self, profile: Profile) -> Dose | None:
        """Return an empty dose counter where the profile tempers."""
        return dose_for(profile)

    def dose_advance(self, dose: Dose | None, part_c: float, dt_s: float) -> Dose | None:
        """Return the dose dt_s seconds later."""
        return None if dose is None else advance_dose(dose, part_c, dt_s)

    def equivalents(self, dose: Dose | None, profile: Profile) -> dict[str, float]:
        """Return the temper's equivalent seconds so far."""
        return {} if dose is None else dose_data(dose, profile)

    def treatment_summary(
        self, dose: Dose | None, profile: Profile, looks: Iterable[PartSample]
    ) -> dict[str, Any]:
        """Return what the record says of the treatment: dose, hot minutes, the cooling by its name."""
        edge = {} if self.skin is None else self.skin.told()
        return {**self.equivalents(dose, profile), **outcome(profile, self.steel, looks).to_dict(), **edge}


def station_for(
    oven: Oven,
    profile: Profile,
    oven_io: OvenIO,
    model: OvenModel | None = None,
    thresholds: Thresholds | None = None,
    start: OvenModel | None = None,
    foreseen: bool = True,
    **more: Any,
) -> Station:
    """Wire an oven up for a profile; without a learned model the nameplate's stands in.

    `start` is what control starts from where an earlier heat found the oven changed; interlocks and watchdog
    keep to `model`. `foreseen` where a forecast looks at the state of control, as beside every real heat.
    `more` are fields of Station that a rehearsal does not have: latch and corrections.
    """
    limits = thresholds if thresholds is not None else Thresholds.of(oven, model)
    return Station(
        oven=oven,
        oven_io=oven_io,
        controller=_controller_for(oven, profile, model, start, foreseen),
        interlocks=build(oven, limits),
        coast_k=limits.coast_k,
        coast_s=min(limits.coast_s, COAST_S) if limits.learned else COAST_S,
        part_model=slab.part_of(profile),
        skin=skin_watch(oven, profile, model),
        steel=load_steel(profile.steel) if profile.steel else None,
        ambient_c=oven.ambient_c,
        **more,
    )


def _controller_for(
    oven: Oven, profile: Profile, model: OvenModel | None, start: OvenModel | None, foreseen: bool
) -> HeatController | Following | Learner:
    if profile.segments[0].purpose == "tune":
        return Learner(oven)
    if oven.output.heater.kind == "set-point":
        return Following(oven)
    learned = model is not None
    return HeatController(oven, model or nameplate(oven), learned, start, foreseen)
