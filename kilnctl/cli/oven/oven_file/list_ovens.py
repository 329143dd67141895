"""The command that lists the oven files: oven list."""

from pathlib import Path

from kilnctl.cli.terminal.listing import list_known
from kilnctl.config import home
from kilnctl.config.abilities import may_heat
from kilnctl.config.oven import load_oven
from kilnctl.errors import ConfigError
from kilnctl.units import say_point


def list_ovens() -> int:
    """List the ovens that are known here: your own and the bundled ones, with what each is for."""
    return list_known(
        "ovens", _line, "What one can do: kilnctl oven check NAME. A new one: kilnctl oven new."
    )


def _line(path: Path) -> str:
    try:
        oven = load_oven(path)
    except ConfigError as e:
        return f"wrong: {str(e).splitlines()[0]}"
    whose = "simulated" if oven.simulated else "watched only" if not may_heat(oven) else "real"
    where = "bundled" if path.parent == home.bundled("ovens") else "your own"
    return f"{oven.use}, {oven.power_w:.0f} W, limit {say_point(oven.limit_c)}, {whose}, {where}"
