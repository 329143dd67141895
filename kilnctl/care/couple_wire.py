"""How hot a couple's wire may be kept: by its type and thickness, in a closed protection tube.

Recommended upper limits of ASTM E230 and its manual MNL 12, as three sensor makers print them. A guide
and no promise: wire is used hotter at the cost of its life. Bare wire bears less; mineral-insulated cable has
limits of its own, by its sheath.
"""

from dataclasses import dataclass

SOURCE = "ASTM E230 and MNL 12, upper limits of protected wire, as sensor makers print them"


@dataclass(frozen=True, slots=True)
class Gauge:
    """A wire: its American gauge, its thickness, and how hot each type may be in it, degC."""

    awg: int
    mm: float
    limit_c: dict[str, float]

    @property
    def words(self) -> str:
        """Return it as it is sold: "14 AWG (1.6 mm)"."""
        return f"{self.awg} AWG ({self.mm:.2g} mm)"


GAUGES = (
    Gauge(30, 0.25, {"K": 760.0, "N": 760.0, "J": 320.0, "E": 370.0, "T": 150.0}),
    Gauge(28, 0.32, {"K": 870.0, "N": 870.0, "J": 370.0, "E": 430.0, "T": 200.0}),
    Gauge(
        *(24, 0.51),
        {"K": 870.0, "N": 870.0, "J": 370.0, "E": 430.0, "T": 200.0, "R": 1480.0, "S": 1480.0, "B": 1700.0},
    ),
    Gauge(20, 0.81, {"K": 980.0, "N": 980.0, "J": 480.0, "E": 540.0, "T": 260.0}),
    Gauge(14, 1.63, {"K": 1090.0, "N": 1090.0, "J": 590.0, "E": 650.0, "T": 370.0}),
    Gauge(8, 3.26, {"K": 1260.0, "N": 1260.0, "J": 760.0, "E": 870.0, "T": 370.0}),
)


def thinnest(couple: str, at_c: float) -> Gauge | None:
    """Return the thinnest wire that a type may be used in at a temperature, or None where none may."""
    return next((gauge for gauge in GAUGES if gauge.limit_c.get(couple, 0.0) >= at_c), None)


def say_wire(couple: str, at_c: float) -> str:
    """Return which wire a couple needs at a temperature, or that none will do; the limits of thinner wire."""
    known = [gauge for gauge in GAUGES if couple in gauge.limit_c]
    if not known:
        return ""
    found = thinnest(couple, at_c)
    limits = ", ".join(f"{gauge.awg} AWG to {gauge.limit_c[couple]:.0f} °C" for gauge in known[::-1])
    if found is None:
        return f"too hot for any {couple} wire ({limits}): take type S, R or B"
    at_least = f"{found.words} or thicker" if len(known) > 1 else found.words
    return f"{at_least}, in a closed tube ({limits}); bare wire bears less"
