"""The command that tries a job against many faults: prove.

What answers it is loaded late, so that its help does not wait for the ovens and the numeric libraries.
"""

from pathlib import Path

from kilnctl.cli.terminal.options import JobsOven, Json


def prove(
    job: str,
    /,
    *,
    oven: JobsOven = None,
    runs: int = 200,
    seed: int = 0,
    cluster: str | None = None,
    out: Path | None = None,
    as_json: Json = False,
) -> int:
    """Try a job on simulated ovens against many faults; say what happened and what software cannot detect.

    q or Ctrl-C stops it and shows the results so far; the exit code is then 5, or 4 if a heat failed.

    Parameters
    ----------
    job
        A recipe or profile file, or the name of a bundled recipe.
    runs
        How many faulted heats.
    seed
        The first seed; the same seed is the same heat again.
    cluster
        Address of a Dask cluster to run on ("tcp://HOST:8786"); left out, all cores of this machine.
    out
        Also write the result as a page (.html or .pdf).
    as_json
        Print one JSON object at the end.
    """
    from kilnctl.cli.plan.prove_answer import answer

    return answer(job, oven, runs, seed, cluster, out, as_json)
