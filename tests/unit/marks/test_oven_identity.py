import tomllib
from pathlib import Path

import pytest
import tomlkit

from kilnctl.config import home
from kilnctl.config.oven import Oven, load_oven
from kilnctl.errors import ConfigError
from kilnctl.marks.off_stamp import outlets
from kilnctl.marks.oven_identity import identity_of, written_together
from kilnctl.tomlfile import loads


@pytest.mark.parametrize("path", sorted(home.bundled("ovens").glob("*.toml")), ids=lambda path: path.stem)
def test_an_identity_is_that_of_the_off_stamp(path: Path) -> None:
    assert set(identity_of(load_oven(path)).at) <= set(outlets(path.read_text(encoding="utf-8")))


def oven_of(name: str, bit: int, register: int = 5) -> Oven:
    """Return an oven that is switched by one bit of a register; invented."""
    data = tomllib.loads((home.bundled("ovens") / "tempering-oven.toml").read_text(encoding="utf-8"))
    place = {"device": next(iter(data["device"])), "table": "holding", "register": register, "bit": bit}
    data |= {"name": name, "output": {"heater": place | {"on": 1, "off": 0}}}
    return loads(tomlkit.dumps(data), Oven, ConfigError, name)


def test_bits_of_one_register_are_written_together_and_two_registers_are_not() -> None:
    assert written_together(oven_of("left", 0), oven_of("right", 1))
    assert not written_together(oven_of("left", 0), oven_of("right", 0, register=6))
