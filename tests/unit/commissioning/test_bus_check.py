"""Whoever stops the look at an instrument's display leaves no set-point of ours in it."""

import pytest

from kilnctl.commissioning.bus_check import check_bus
from kilnctl.commissioning.operator import Later
from kilnctl.devices.probing.diagnoses import Diagnosis


class Bench:
    """A probe that finds all well."""

    parked = False

    def nothing(self) -> list[Diagnosis]:
        return []

    ports = echo = answers = identities = places = switches = nothing

    def power_up(self) -> Diagnosis:
        return Diagnosis("power-up state", True, "Every output came up off.")

    def low_set_point(self) -> str:
        return "1 °C (33.8 °F)"

    def park(self) -> bool:
        self.parked = True
        return True


class Leaves:
    def say(self, line: str) -> None: ...

    def key(self, question: str) -> bool:
        if "display" in question:
            raise Later
        return True


def test_a_person_who_stops_at_the_display_leaves_the_set_point_parked() -> None:
    bench = Bench()
    with pytest.raises(Later):
        check_bus(bench, Leaves())
    assert bench.parked
