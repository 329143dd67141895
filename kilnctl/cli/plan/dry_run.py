"""The command that rehearses a heat in virtual time: dry-run.

What answers it is loaded late, so that its help does not wait for the ovens and the numeric libraries.
"""

from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

from kilnctl.cli.terminal.options import HoldAt, HoldFor, JobName, JobsOven, Json


def dry_run(
    job: JobName = None,
    /,
    *,
    oven: JobsOven = None,
    soak: HoldAt = None,
    hold_for: HoldFor = None,
    fault: Annotated[list[str] | None, Parameter(negative=())] = None,
    limit: str | None = None,
    seed: int = 0,
    csv: Path | None = None,
    chart: Path | None = None,
    as_json: Json = False,
) -> int:
    """Rehearse a heat on a simulated oven: the real runner, interlocks and record, in seconds.

    Parameters
    ----------
    fault
        Something that goes wrong and when, like "sensor-open@1h" (`kilnctl simulate --help` lists all); may
        be given several times.
    limit
        Fit an independent limit to the simulated oven ("280 C"); left out, it has none.
    seed
        A different seed gives different noise and a slightly different oven.
    csv
        Write the record of the rehearsal to this file.
    chart
        Draw the rehearsal over the predicted curve with its band into this file (.png, .svg or .pdf).
    as_json
        Print one JSON object at the end.
    """
    from kilnctl.cli.plan.dry_run_answer import answer

    return answer(job, oven, soak, hold_for, fault or [], limit, seed, csv, chart, as_json)
