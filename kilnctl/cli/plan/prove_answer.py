"""The answer of `prove`: the heats, counted; what they add up to, as a page or as JSON."""

import json
import sys
from pathlib import Path

from rich.console import Console

from kilnctl.cli.plan.heats_progress import shown
from kilnctl.cli.plan.plan_timing import learned_model
from kilnctl.cli.plan.prove_page import prove_page
from kilnctl.cli.terminal.select import choose_job, choose_oven
from kilnctl.cli.terminal.tell import tell_boxes
from kilnctl.errors import ConfigError
from kilnctl.profile.write import profile_toml
from kilnctl.rehearsal.campaign import Scenario, run_one, summary, tasks, timed
from kilnctl.rehearsal.executor import pool
from kilnctl.rehearsal.judge import Verdict
from kilnctl.report.workshop import workshop

MOST_RUNS = 100_000


def answer(
    job: str, oven: str | None, runs: int, seed: int, cluster: str | None, out: Path | None, as_json: bool
) -> int:
    """Try a job on simulated ovens against faults and print the sum. Returns the exit code."""
    if not 1 <= runs <= MOST_RUNS:
        raise ConfigError(f"--runs {runs}: give a number from 1 to {MOST_RUNS}")
    shop = workshop()  # first: a mistake in its file is not found after an hour of heats
    path, chosen = choose_oven(oven, job)
    todo, model = choose_job(job, None, None, chosen), learned_model(chosen)
    scenario = Scenario(
        oven=path.read_text(encoding="utf-8"),
        profile=profile_toml(todo.profile),
        model="" if model is None else json.dumps(model.to_dict()),
    )
    with Console(file=sys.stderr).status("first a heat in which nothing goes wrong"):
        work = tasks([timed(scenario)], range(seed, seed + runs))
    with pool(cluster) as executor:
        verdicts = sorted(shown(run_one, work, executor), key=lambda verdict: verdict.seed)
    found = summary(verdicts)
    if as_json:
        print(json.dumps({"asked": runs, "stopped": len(verdicts) < runs, **found}))
    else:
        from kilnctl.report.layout.text_page import print_document

        print_document(prove_page(todo.profile.name, verdicts, runs, shop))
    if out is not None:
        from kilnctl.report.layout.page_file import write_page

        tell_boxes(out, write_page(prove_page(todo.profile.name, verdicts, runs, shop), out))
    return exit_code(verdicts, runs)


def exit_code(verdicts: list[Verdict], asked: int) -> int:
    """Return 0 where all is as it must be, 4 where not, 5 where a person has stopped it before the end."""
    if any(v.failed for v in verdicts):
        return 4
    return 0 if len(verdicts) == asked else 5
