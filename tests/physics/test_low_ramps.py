"""A low goal and a fast rate on an oven that nobody has learned: the ramp is over before its heat is seen.

The fibre furnaces of the simulator answer minutes late in the cold: their element must glow before it gives.
Rehearsed, 50 °C at 900 °C/h tripped two of four of them ("65.1 °C, above 65 °C"); the controller is the real
one, so a real oven would have tripped as well.
"""

import pytest

from kilnctl.config import home
from kilnctl.config.oven import load_oven
from kilnctl.heat.job import Job
from kilnctl.profile.segments import Profile
from kilnctl.rehearsal.dry_run import rehearse
from simulator.oven import ovens

FURNACE = load_oven(home.bundled("ovens") / "hardening-furnace.toml")


@pytest.mark.parametrize(
    ("build", "seed", "goal_c", "rate"), [("fibre", 0, 50, 900), ("fibre", 2, 50, 900), ("fibre", 0, 80, 900)]
)
def test_a_ramp_that_ends_within_the_lag_does_not_pass_its_goal(build, seed, goal_c, rate):
    plant = ovens.random_oven(build, seed, power_w=1500.0)
    told = {"build": build, "power_w": 1500.0, "ambient_c": plant.ambient_c, "zone": ()}
    ramp = {"kind": "ramp", "to": f"{goal_c} C", "rate": f"{rate} C/h"}
    soak = {"kind": "soak", "at": f"{goal_c} C", "time": "15 min"}
    job = Job(Profile.model_validate({"name": "low", "segment": (ramp, soak)}))
    seen: list[float] = []
    heat = rehearse(
        FURNACE.model_copy(update=told),
        job,
        plant=plant,
        on_tick=lambda r: seen.append(plant.sensor.junction_c),
    )
    assert heat.run().outcome == "complete"
    assert max(seen) < goal_c + 5.0
