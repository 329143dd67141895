"""An oven beside the oven."""

from kilnctl.rehearsal.perturbed_ovens import SHARE, SUPPLY_SHARE, plant_near
from simulator.oven.ovens import tempering_oven


def test_a_near_oven_is_the_same_for_the_same_seed_and_within_a_fifth() -> None:
    data = tempering_oven().data
    (one, volts), (again, _) = plant_near(data, 7), plant_near(data, 7)
    assert one.data == again.data
    assert one is not again
    assert one.data != plant_near(data, 8)[0].data
    assert abs(one.data.element_capacity / data.element_capacity - 1.0) <= SHARE
    assert abs(one.data.wall.capacities[0] / data.wall.capacities[0] - 1.0) <= SHARE
    assert abs(volts - 1.0) <= SUPPLY_SHARE
    warm = plant_near(data, 7, at_c=190.0)[0]
    assert 180.0 < warm.sensor.junction_c < 200.0
    assert warm.energy_j == 0.0
