"""The command that tries a job against many faults: prove."""

import json
import sys

from rich.console import Console
from rich.progress import track
from rich.table import Table

from kilnctl.cli.plan.plan_timing import learned
from kilnctl.cli.terminal.options import Json
from kilnctl.cli.terminal.select import choose_job, choose_oven
from kilnctl.errors import ConfigError
from kilnctl.profile.write import profile_toml
from kilnctl.rehearsal.campaign import CHUNK, Scenario, run_one, summary, tasks, timed
from kilnctl.rehearsal.executor import pool
from kilnctl.rehearsal.hazards import HazardSeen, seen
from kilnctl.rehearsal.judge import Verdict
from kilnctl.rehearsal.lateness import ALLOWED

MOST_RUNS = 100_000
HEADS = (
    "fault",
    "heats",
    "cut by",
    "after s: median (worst)",
    "what protects where software does not see it",
)


def prove(
    job: str,
    /,
    *,
    oven: str | None = None,
    runs: int = 200,
    seed: int = 0,
    cluster: str | None = None,
    as_json: Json = False,
) -> int:
    """Try a job on simulated ovens against many faults; say what happened and what software cannot detect.

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
    cluster
        Address of a Dask cluster to run on ("tcp://HOST:8786"); left out, all cores of this machine.
    as_json
        Print one JSON object at the end.
    """
    if not 1 <= runs <= MOST_RUNS:
        raise ConfigError(f"--runs {runs}: give a number from 1 to {MOST_RUNS}")
    path, chosen = choose_oven(oven, job)
    todo, model = choose_job(job, None, None, chosen), learned(chosen)
    scenario = Scenario(
        oven=path.read_text(encoding="utf-8"),
        profile=profile_toml(todo.profile),
        model="" if model is None else json.dumps(model.to_dict()),
    )
    work = tasks([timed(scenario)], range(seed, seed + runs))
    with pool(cluster) as executor:
        shown = track(
            executor.map(run_one, work, chunksize=CHUNK),
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
        print_page(verdicts)
    return 4 if found["failed_seeds"] else 0


def print_page(verdicts: list[Verdict]) -> None:
    """Print what was tried, what happened, and what software could not catch."""
    out, found = Console(width=110, highlight=False), summary(verdicts)
    out.print(
        f"{len(verdicts)} faulted heats in virtual time on simulated ovens near yours (invented), "
        "judged against what really happened in the simulator"
    )
    shown = Table(*HEADS, pad_edge=False)
    for key in sorted({key for v in verdicts if len(v.rows) == 1 for key in v.rows}):
        shown.add_row(*_cells(seen(verdicts, key)))
    out.print(shown)
    for v in verdicts:
        if v.failed:
            out.print(f"seed {v.seed}: {', '.join(v.faults)}: {complaint(v)}")
    out.print(
        f"{found['cut']} heats were cut; unsafe {found['unsafe']}, wrong complete {found['wrong_complete']}, "
        f"wrong cause {found['wrong_cause']}, late {found['late']}, false trips {found['false_trips']}"
    )
    if found["untrue_not_detectable"]:
        out.print(
            f"{found['untrue_not_detectable']} heats called themselves complete on a reading that was wrong: "
            "no software can see that on this oven"
        )
    out.print("A simulation proves nothing about your wiring: the drills of `kilnctl commission` do.")


def complaint(v: Verdict) -> str:
    """Say what was not as it must be in one heat."""
    late = f"late: {v.late}" if v.late else ""
    other = f"cut for another cause: {v.cause}" if v.other_cause else ""
    false = f"false trip, {v.false_trip}" if v.false_trip else ""
    return "; ".join(said for said in (v.unsafe, v.wrong, late, other, false) if said)


def _cells(s: HazardSeen) -> tuple[str, str, str, str, str]:
    after = "–" if s.median_s is None else f"{s.median_s:.0f} ({s.worst_s:.0f})"
    instead = s.stands_in if s.blind or s.fault not in ALLOWED else ""
    return s.fault, str(s.heats), s.by or "–", after, instead
