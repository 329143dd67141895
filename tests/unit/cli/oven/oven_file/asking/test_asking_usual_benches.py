"""The benches that are walked on demand, told to `oven new` every day: a question that changes is seen."""

from types import SimpleNamespace

import pytest
from foreign.asking import text_by_asking
from foreign.bench_answers import TOLD

from kilnctl.config.oven import Oven
from kilnctl.errors import ConfigError
from kilnctl.tomlfile import loads


@pytest.mark.parametrize("name", TOLD)
def test_a_usual_bench_is_told_without_a_second_try(name: str) -> None:
    path = "tcp://127.0.0.1:1502" if "tcp" in name else "/dev/ttyUSB0"
    oven = loads(text_by_asking(name, SimpleNamespace(path=path)), Oven, ConfigError, "bench.toml")
    assert oven.limit_c == 260.0
    assert oven.output.lamp is not None
