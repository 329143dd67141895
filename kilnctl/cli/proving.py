"""The command that tries a job against many faults: prove."""

import json
import os
import sys
from concurrent.futures import ProcessPoolExecutor
from typing import Annotated

from cyclopts import Parameter
from rich.console import Console
from rich.progress import track
from rich.table import Table

from kilnctl.cli.choosing import choose_job, choose_oven
from kilnctl.cli.plan_timing import learned
from kilnctl.errors import ConfigError
from kilnctl.profile.write import profile_toml
from kilnctl.rehearsal.campaign import run_one, summary, table, tasks
from kilnctl.rehearsal.dry_run import rehearse
from kilnctl.rehearsal.judge import Verdict

AsJson = Annotated[bool, Parameter(name="--json", negative="")]
MOST_RUNS = 100_000


def prove(
    job: str, /, *, oven: str | None = None, runs: int = 200, seed: int = 0, as_json: AsJson = False
) -> int:
    """Try a job on a simulated oven against many faults; say what happened and what software cannot see.

    Parameters
    ----------
    job
        A recipe or profile file, or the name of a bundled recipe.
    oven
        An oven file or name; left out, the oven that the job names.
    runs
        How many faulted heats.
    seed
        The first seed; the same seed is the same heat again.
    as_json
        Print one JSON object at the end.
    """
    if not 1 <= runs <= MOST_RUNS:
        raise ConfigError(f"--runs {runs}: give a number from 1 to {MOST_RUNS}")
    path, chosen = choose_oven(oven, job)
    todo, model = choose_job(job, None, None, chosen), learned(chosen)
    sound = rehearse(chosen, todo, model=model).run()
    work = tasks(
        path.read_text(encoding="utf-8"),
        profile_toml(todo.profile),
        float(sound.summary["duration_s"]),
        range(seed, seed + runs),
        None if model is None else model.to_dict(),
    )
    with ProcessPoolExecutor(os.cpu_count()) as executor:
        shown = track(
            executor.map(run_one, work),
            description="faulted heats",
            total=len(work),
            console=Console(file=sys.stderr),
            disable=as_json,
        )
        verdicts = list(shown)
    found = summary(verdicts)
    if as_json:
        print(json.dumps(found))
    else:
        print_page(verdicts, found["failed_seeds"])
    return 4 if found["failed_seeds"] else 0


def print_page(verdicts: list[Verdict], failed: list[int]) -> None:
    """Print what was tried, what happened, and what software could not catch."""
    out = Console(width=100, highlight=False)
    shown = Table(pad_edge=False)
    for head in (
        "fault",
        "heats",
        "cut by",
        "after s: middle (worst)",
        "not seen by software: what stands in",
    ):
        shown.add_column(head)
    for name, heats, causes, after, blind in table(verdicts):
        shown.add_row(name, str(heats), causes, after, blind)
    out.print(
        f"{len(verdicts)} faulted heats in virtual time on a simulated oven (invented), judged on its truth"
    )
    out.print(shown)
    for v in verdicts:
        if v.unsafe or v.wrong:
            out.print(f"seed {v.seed}: {', '.join(v.faults)}: {v.unsafe or v.wrong}")
    out.print(f"{len(failed)} failed" if failed else "no unsafe end, no wrong complete")
    out.print("A simulation proves nothing about your wiring: the drills of `kilnctl commission` do.")
