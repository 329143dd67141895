"""A shop whose oven file does not say that it is simulated, and the board behind it: nothing is spared."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from shop import Shop

from kilnctl.cli.oven.simulate import Simulation, start
from kilnctl.config.oven import load_oven


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Shop]:
    shop = Shop(tmp_path, 1)
    text = shop.oven.read_text(encoding="utf-8").replace("simulated = true\n", "")
    shop.oven.write_text(text, encoding="utf-8")
    (tmp_path / "home" / "ovens").mkdir(parents=True)
    monkeypatch.setenv("KILNCTL_HOME", str(tmp_path / "home"))
    yield shop
    shop.close()


@pytest.fixture
def sim(shop: Shop, monkeypatch: pytest.MonkeyPatch) -> Iterator[Simulation]:
    monkeypatch.setattr(
        "simulator.boards.registers.PLANT_MARK", 0
    )  # as a real board, it does not say what it is
    running = start(load_oven(shop.oven), link=shop.link, speed=1)
    yield running
    running.close()
