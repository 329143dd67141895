"""Where a campaign runs: all cores of this machine, or a cluster that speaks concurrent.futures too."""

import os
from collections.abc import Iterator
from concurrent.futures import Executor, ProcessPoolExecutor
from contextlib import contextmanager

from kilnctl.errors import ConfigError


@contextmanager
def pool(cluster: str | None = None) -> Iterator[Executor]:
    """Give an executor: of processes, or of the Dask cluster at an address ("tcp://HOST:8786").

    Every worker needs this version of kilnctl. Raises ConfigError where Dask is not installed or nobody
    answers at the address.
    """
    if cluster is None:
        with ProcessPoolExecutor(os.cpu_count()) as executor:
            yield executor
        return
    try:
        from distributed import Client
    except ImportError:
        raise ConfigError('--cluster needs Dask: pip install "kilnctl[cluster]"') from None
    try:
        client = Client(cluster, timeout="10s")
    except (OSError, ValueError) as e:
        raise ConfigError(f"no cluster answers at {cluster}: {e}") from None
    with client, client.get_executor() as executor:
        yield executor
