"""The command that compares a recorded freezing or boiling plateau with its true value: care fixed-point."""

from typing import Literal

from kilnctl.cli.record.open_logbook import COMPLETE, opened
from kilnctl.errors import ConfigError


def fixed_point(
    run: int, of: Literal["tin", "zinc", "aluminium", "water"], /, *, altitude_m: float | None = None
) -> int:
    """Find the plateau where a metal freezes (or water boils) in a recorded run, and the correction there.

    Parameters
    ----------
    run:
        The number of the run.
    of:
        Which metal, or water.
    altitude_m:
        Height above sea level in metres, for water; left out, 0.
    """
    from kilnctl.care.boiling import boiling_c
    from kilnctl.care.calibration import FIXED_POINTS_C, plateau_c

    if altitude_m is not None and of != "water":
        raise ConfigError(f"{of} freezes at the same temperature everywhere: leave out --altitude-m")
    true_c = boiling_c(altitude_m or 0.0) if of == "water" else FIXED_POINTS_C[of]
    with opened() as reader:
        curve = reader.curve(run)
    found_c = plateau_c(curve.column("elapsed_s"), curve.column("process_c"), true_c)
    print(f"plateau at {found_c:.1f} C, {of} is {true_c:.1f} C: correction {true_c - found_c:+.1f} K there")
    return COMPLETE
