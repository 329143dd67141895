"""The same heats on a Dask cluster of two workers and on this machine's processes, seed by seed.

python -m pytest tests/faults/test_cluster.py -s -m on_demand
"""

import subprocess
import sys
from concurrent.futures import Executor

import pytest

from kilnctl.rehearsal.campaign import Task, run_one, tasks
from kilnctl.rehearsal.executor import as_they_end, pool
from kilnctl.rehearsal.judge import Verdict
from tests.faults.scenarios import scenarios

SEEDS = range(24)


def verdicts(work: list[Task], executor: Executor) -> list[Verdict]:
    return sorted(as_they_end(run_one, work, executor), key=lambda verdict: verdict.seed)


@pytest.mark.on_demand
@pytest.mark.filterwarnings("default")
def test_two_workers_give_the_same_verdicts_seed_by_seed() -> None:
    distributed = pytest.importorskip("distributed")
    work = tasks(scenarios(), SEEDS)
    with pool() as processes:
        here = verdicts(work, processes)
    with (
        distributed.LocalCluster(n_workers=2, threads_per_worker=1, dashboard_address=None) as cluster,
        pool(cluster.scheduler_address) as workers,
    ):
        there = verdicts(work, workers)
    assert there == here
    print(f"\n{len(there)} heats, the same verdict in both: {sum(bool(v.cause) for v in there)} were cut")


def test_without_dask_the_option_says_what_to_install(tmp_path) -> None:
    # Another interpreter in which the module cannot be found, whether it is installed or not.
    code = (
        "import sys; sys.modules['distributed'] = None\n"
        "from kilnctl.errors import ConfigError\n"
        "from kilnctl.rehearsal.executor import pool\n"
        "try:\n    pool('tcp://127.0.0.1:1').__enter__()\n"
        "except ConfigError as e:\n    print(e)\n"
    )
    said = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout
    assert 'pip install "kilnctl[cluster]"' in said
