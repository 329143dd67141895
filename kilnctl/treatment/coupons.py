"""Coupons of an unknown steel: which heats to try, what to look at, and what it means.

Common practice, no single source: small pieces of the steel are quenched from rising heats, filed, broken and
compared by their grain; the right heat is the lowest that is hard and fine. Until that is written down, what
is planned for the steel is unproven.
"""

from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import Field

from kilnctl.config.home import find
from kilnctl.errors import ProfileError
from kilnctl.quantities import DurationS, LengthMm, PointC, between
from kilnctl.tomlfile import Strict, load, loads
from kilnctl.treatment.steel.steels import Hrc, Medium
from kilnctl.units import say_point

HEATS_C, AIR_C = (780.0, 810.0, 840.0), 840.0
TEMPERS_C = (175.0, 205.0, 235.0)
SOAK, TEMPER_TIME = "10 min", "1h 15min"
UNPROVEN = "unproven: no coupon has shown yet what this steel does"
HOW_TO_READ = (
    "file: at hand-warm, on bare metal, with a new sharp file. Skates: hard. Bites: not hard.",
    "break: wrap it in cloth, eye cover, in the vice. Snaps without bending: hardened through. "
    "Bends first: a hard skin at most.",
    "grain: the broken face. Like grey velvet, finer than a file's tooth: fine. Sparkles: coarse, too hot.",
    "temper trials: temper pieces of the best coupon; measure each, or try an edge on it: "
    "one that chips is too hard, one that rolls is too soft.",
    "write what you found into the file, after each heat, and ask again.",
)
Heat = Annotated[PointC, between(0, 1250, "0 C and 1250 C")]


class Coupon(Strict):
    """One piece quenched from one heat: what a file did, how it broke, what its grain looks like."""

    at_c: Heat = Field(alias="at")
    medium: Medium
    soak_s: DurationS = Field(alias="soak")
    file: Literal["skates", "bites"] | None = None
    broke: Literal["brittle", "bent"] | None = None
    grain: Literal["fine", "coarse"] | None = None
    hrc: Hrc | None = None

    @property
    def tried(self) -> bool:
        """True where all was looked at that can tell: what is soft or bends is not asked for its grain."""
        soft = self.file == "bites" or (self.file is not None and self.broke == "bent")
        return soft or None not in (self.file, self.broke, self.grain)

    @property
    def right(self) -> bool:
        """True for a heat that hardens through and keeps the grain fine."""
        return (self.file, self.broke, self.grain) == ("skates", "brittle", "fine")


class TemperTrial(Strict):
    """One piece of the best coupon, tempered: its hardness, or what an edge did."""

    at_c: Heat = Field(alias="at")
    hrc: Hrc | None = None
    edge: Literal["chips", "holds", "rolls"] | None = None


class Coupons(Strict):
    """The coupons of one unknown steel."""

    name: str
    section_mm: LengthMm = Field(alias="section")
    coupon: tuple[Coupon, ...]
    temper: tuple[TemperTrial, ...]

    @property
    def quenched(self) -> tuple[Coupon, ...]:
        """Return the coupons that went into a bath, the coolest heat first."""
        return tuple(sorted((c for c in self.coupon if c.medium != "still air"), key=lambda c: c.at_c))

    @property
    def best(self) -> Coupon | None:
        """Return the lowest heat that hardens through with a fine grain, None as long as there is none."""
        return next((c for c in self.quenched if c.right), None)

    @property
    def proven(self) -> bool:
        """True where every heat was looked at, one is right, and a temper of it was tried."""
        tempered = any(t.hrc is not None or t.edge is not None for t in self.temper)
        return all(c.tried for c in self.quenched) and self.best is not None and tempered


def first_plan(name: str, section: str, medium: str) -> Coupons:
    """Return the coupons to begin with. Raises ProfileError for a section that cannot be read."""
    heats: list[dict[str, Any]] = [{"at": f"{c:.0f} C", "medium": medium, "soak": SOAK} for c in HEATS_C]
    air = {"at": f"{AIR_C:.0f} C", "medium": "still air", "soak": SOAK}
    tempers = [{"at": f"{c:.0f} C"} for c in TEMPERS_C]
    data = {"name": name, "section": section, "coupon": [*heats, air], "temper": tempers}
    import tomlkit  # only an unknown steel needs it

    return loads(tomlkit.dumps(data), Coupons, ProfileError, name)


def coupon_text(coupons: Coupons) -> str:
    """Return the file that results are written into."""
    import tomlkit

    lines = [
        f"# {coupons.name}: an unknown steel on coupons. Write behind each heat what you found:",
        '#   file = "skates" or "bites", broke = "brittle" or "bent", grain = "fine" or "coarse", hrc = 61',
        '# and behind each temper: hrc = 60, or edge = "chips", "holds" or "rolls".',
        tomlkit.dumps({"name": coupons.name, "section": f"{coupons.section_mm:g} mm"}).strip(),
        "coupon = [",
    ]
    for c in coupons.coupon:
        lines.append(f'    {{ at = "{c.at_c:g} C", medium = "{c.medium}", soak = "{c.soak_s / 60:g} min" }},')
    lines += ["]", "temper = ["]
    lines += [f'    {{ at = "{t.at_c:g} C" }},' for t in coupons.temper]
    return "\n".join([*lines, "]", ""])


def load_coupons(name: str) -> Coupons:
    """Read the coupons of a steel by name or path. Raises ProfileError."""
    return load(Path(find(name, "coupons", ProfileError)), Coupons, ProfileError)


def reading(coupons: Coupons) -> tuple[str, ...]:
    """Return what the coupons say so far."""
    said = [] if coupons.proven else [UNPROVEN]
    air = [c for c in coupons.coupon if c.medium == "still air" and c.file == "skates"]
    if air:
        said.append(
            "hard from still air: an air-hardening alloy steel; these heats are not its own: find its name"
        )
    if not all(c.tried for c in coupons.quenched):
        left = [say_point(c.at_c) for c in coupons.quenched if not c.tried]
        return (*said, f"not looked at yet: {', '.join(left)}")
    return (*said, *_of_all(coupons))


def _of_all(coupons: Coupons) -> list[str]:
    """Return what all heats together mean."""
    hard = [c for c in coupons.quenched if c.file == "skates"]
    if coupons.best is not None:
        above = [c for c in coupons.quenched if c.at_c > coupons.best.at_c and c.grain == "coarse"]
        said = [f"harden from {say_point(coupons.best.at_c)}: the lowest that is hard, through and fine"]
        said += [f"not from {say_point(above[0].at_c)}: the grain is coarse there"] if above else []
        return said + _of_tempers(coupons)
    if not hard:
        top = say_point(coupons.quenched[-1].at_c)
        return [f"does not harden from {top} in this bath: too little carbon, or it needs a faster bath"]
    if all(c.broke == "bent" for c in hard):
        return ["a hard skin on a soft core: the section is too thick for this bath, or the steel too lean"]
    return ["hard, but coarse: normalise two or three times and try lower heats, 20 K apart"]


def _of_tempers(coupons: Coupons) -> list[str]:
    found = []
    for t in coupons.temper:
        words = [f"{t.hrc:g} HRC"] if t.hrc is not None else []
        words += [f"the edge {t.edge}"] if t.edge is not None else []
        found += [f"tempered at {say_point(t.at_c)}: {', '.join(words)}"] if words else []
    return found or ["no temper was tried yet"]
