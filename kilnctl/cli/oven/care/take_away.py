"""The command that ends the correction of a sensor: care take-away."""

from typing import Literal

from kilnctl.cli.oven.care.from_when import tell_from_when
from kilnctl.cli.record.open_logbook import COMPLETE, keep


def take_away(
    oven: str, sensor: Literal["process", "second", "load"], /, *, note: str = "", who: str = ""
) -> int:
    """Take the correction of a sensor away, as when it was replaced: it counts as it reads.

    Parameters
    ----------
    oven:
        The oven, by file or name.
    sensor:
        Which of its sensors.
    note:
        A note to keep with it.
    who:
        Who did it.
    """
    from kilnctl.config.oven import find_oven
    from kilnctl.logbook.entries import Calibration

    chosen = find_oven(oven)
    keep(Calibration(chosen.name, sensor, 1.0, 0.0, (), 0.0, None, "taken away", who, note))
    print(f"no correction of the {sensor} sensor any more: it counts as it reads")
    tell_from_when(chosen.name)
    return COMPLETE
