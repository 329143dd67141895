"""The command that compares a recorded freezing or boiling plateau with its true value: care fixed-point."""

import math
from typing import Literal

from kilnctl.cli.record.open_logbook import COMPLETE, opened
from kilnctl.cli.terminal.options import refuse_unused
from kilnctl.cli.terminal.tell import tell
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
    from kilnctl.care.boiling import boils_here
    from kilnctl.care.calibration import FIXED_POINTS_C, POINT_K, plateau_c, uncorrected_c

    if of != "water":
        refuse_unused(f"{of} freezes at the same temperature everywhere", at=at)
    elif at is None:
        raise ConfigError('say where it boiled: --at "650 m" (height), or --at "938 hPa" (air pressure)')
    true_c, weather_k = (FIXED_POINTS_C[of], 0.0) if at is None else boils_here(at)
    with opened() as reader:
        curve, oven = reader.curve(run), reader.run(run).oven
        found_c = plateau_c(curve.column("elapsed_s"), curve.column("process_c"), true_c)
        read_c = uncorrected_c(reader, run, found_c)
    error_k = math.hypot(POINT_K, weather_k)
    weather = f" (the weather moves it by {weather_k:.1f} K)" if weather_k else ""
    before = "" if read_c == found_c else f" (the sensor itself read {read_c:.1f} C: the run was corrected)"
    tell(
        f"plateau at {found_c:.1f} C{before}, {of} is {true_c:.1f} C{weather}: "
        f"correction {true_c - read_c:+.1f} K there, ± {error_k:.1f} K"
    )
    tell(
        f'to use it: kilnctl care calibrate {oven} process --at "{read_c:.1f} C is {true_c:.1f} C" '
        f'--reference "{of}, run {run}" --reference-error "{error_k:.1f} K"'
    )
    return COMPLETE
