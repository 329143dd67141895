"""How hot a part is that a radiation pyrometer reads at a wrong emissivity: figure pyrometer."""

import math

from kilnctl.cli.figure.figure_answer import FigureAnswer, say_difference, say_fine, show
from kilnctl.cli.figure.inputs import HOTTEST_C, Quantity, heat_c
from kilnctl.cli.terminal.options import Json
from kilnctl.errors import ConfigError, UnitError

SECOND_RADIATION_UM_K = 14_387.77  # c2 of Planck's law, CODATA
KELVIN = 273.15
COLDEST_SHOWN_C = 0.0
LEAST_EMISSIVITY, SHORTEST_UM, LONGEST_UM = 0.05, 0.4, 20.0
SURFACES = (
    "scaled or oxidised steel 0.8-0.9; ground bright steel 0.3-0.4 near 1 um, 0.1-0.3 at 8-14 um; "
    "fibre and brick 0.5-0.9 (handbooks, from memory)"
)


def pyrometer(
    shown: Quantity,
    /,
    *,
    emissivity: float,
    set_to: float = 0.95,
    micron: float = 10.0,
    as_json: Json = False,
) -> int:
    """Work out how hot a surface is that an infrared thermometer reads at a wrong emissivity.

    Parameters
    ----------
    shown
        What it shows.
    emissivity
        The surface's own: 0.85 for scaled steel.
    set_to
        What the instrument is set to.
    micron
        The wavelength that it sees, in um: 10 for the usual hand-held one (8-14), 1 for one for hot metal.
    as_json
        Print one JSON object.
    """
    for name, value in (("--emissivity", emissivity), ("--set-to", set_to)):
        if not LEAST_EMISSIVITY <= value <= 1.0:
            raise ConfigError(f"{name} must be {LEAST_EMISSIVITY:g} to 1, not {value:g}")
    if not SHORTEST_UM <= micron <= LONGEST_UM:
        raise ConfigError(f"--micron must be {SHORTEST_UM:g} to {LONGEST_UM:g}, not {micron:g}")
    shown_c = heat_c(shown)
    if shown_c < COLDEST_SHOWN_C:
        raise UnitError(f"{shown_c:.0f} C is colder than an infrared thermometer is good for here")
    true_c = true_of(shown_c, emissivity / set_to, micron)
    if true_c > 2.0 * HOTTEST_C:
        raise ConfigError("that would be hotter than any furnace: look at the emissivity again")
    return show(
        FigureAnswer(
            asked=f"{say_fine(shown_c)} shown at {set_to:g}, the surface has {emissivity:g}, {micron:g} um:",
            rows=(
                ("truly", say_fine(true_c)),
                ("wrong by", say_difference(shown_c - true_c)),
                ("surfaces", SURFACES),
            ),
            source="Planck's law at one wavelength, c2 of CODATA",
            assumed="nothing hotter shines on it: in a hot furnace the walls do, and it reads them too",
            data={"true_c": true_c, "wrong_by_k": shown_c - true_c},
            beware=(
                "it sees the skin: flame, smoke, glass and loose scale mislead it. No limit and "
                "no soak goes by it: a couple beside the part does",
            ),
        ),
        as_json,
    )


def true_of(shown_c: float, ratio: float, micron: float) -> float:
    """Return the temperature, degC, whose radiation times the ratio of the emissivities is that shown."""
    x = SECOND_RADIATION_UM_K / (micron * (shown_c + KELVIN))
    return SECOND_RADIATION_UM_K / (micron * math.log1p(ratio * math.expm1(x))) - KELVIN
