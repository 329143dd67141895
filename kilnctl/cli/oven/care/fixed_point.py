"""The command that compares a recorded freezing or boiling plateau with its true value: care fixed-point."""

from typing import Literal

from kilnctl.cli.oven.care.boils_here import boils_here
from kilnctl.cli.record.open_logbook import COMPLETE, opened
from kilnctl.cli.terminal.options import refuse_unused
from kilnctl.errors import ConfigError


def fixed_point(
    run: int,
    of: Literal["tin", "zinc", "aluminium", "water"],
    /,
    *,
    at: str | None = None,
) -> int:
    """Find the plateau where a metal freezes (or water boils) in a recorded run, and the correction there.

    Parameters
    ----------
    run:
        The number of the run.
    of:
        Which metal, or water.
    at:
        For water: your height above sea level ("650 m"), or the day's air pressure at the place ("938 hPa").
    """
    from kilnctl.care.calibration import FIXED_POINTS_C, plateau_c

    if of != "water":
        refuse_unused(f"{of} freezes at the same temperature everywhere", at=at)
    elif at is None:
        raise ConfigError('say where it boiled: --at "650 m" (height), or --at "938 hPa" (air pressure)')
    true_c, weather_k = (FIXED_POINTS_C[of], 0.0) if at is None else boils_here(at)
    with opened() as reader:
        curve = reader.curve(run)
    found_c = plateau_c(curve.column("elapsed_s"), curve.column("process_c"), true_c)
    weather = f" (the weather moves it by {weather_k:.1f} K)" if weather_k else ""
    print(
        f"plateau at {found_c:.1f} C, {of} is {true_c:.1f} C{weather}: "
        f"correction {true_c - found_c:+.1f} K there"
    )
    return COMPLETE
