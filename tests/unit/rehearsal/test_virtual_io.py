"""Every kind of heater on virtual I/O: it heats, it is read back, and every way out leaves it off."""

import pytest

from kilnctl.config.home import bundled
from kilnctl.config.oven import Oven, load_oven
from kilnctl.errors import ProfileError
from kilnctl.heat.job import Job
from kilnctl.profile.segments import Profile
from kilnctl.rehearsal.dry_run import rehearse
from kilnctl.rehearsal.learning_heat import learned_by_rehearsal
from kilnctl.rehearsal.perturbed_ovens import SHARE, SUPPLY_SHARE, plant_near
from kilnctl.tomlfile import loads
from simulator.boards.faults import parse_fault
from simulator.oven.ovens import tempering_oven

BUNDLED = load_oven(bundled("ovens") / "tempering-oven.toml")
WARM = """
name = "warm (invented)"
[[segment]]
kind = "ramp"
to = "60 C"
[[segment]]
kind = "soak"
at = "60 C"
time = "5min"
band = "15 K"
"""
KINDS = {
    "switch": {},
    "duty": {"kind": "duty", "on": 1000},
    "pulse": {"kind": "pulse", "holds_s": 3.0},
    "set-point": {"kind": "set-point", "unit": "C", "park_c": 20.0, "link_loss": "drops", "scale": 0.1},
}


def oven_with(kind: str) -> Oven:
    heater = BUNDLED.output.heater.model_copy(update=KINDS[kind])
    return BUNDLED.model_copy(update={"output": BUNDLED.output.model_copy(update={"heater": heater})})


@pytest.mark.slow
@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_of_heater_heats_and_is_off_at_the_end(kind: str) -> None:
    rehearsal = rehearse(oven_with(kind), Job(loads(WARM, Profile, ProfileError, "t")))
    outcome = rehearsal.run()
    assert (outcome.outcome, outcome.heat_off) == ("complete", True)
    assert 55.0 < rehearsal.board.truth().peak_place_c < 80.0
    rehearsal.board.step(1.0)
    assert rehearsal.board.truth().heat_w == 0.0


@pytest.mark.parametrize("kind", KINDS)
def test_a_board_with_a_lost_line_is_not_off_until_it_answers(kind: str) -> None:
    rehearsal = rehearse(oven_with(kind), Job(loads(WARM, Profile, ProfileError, "t")))
    oven_io, board = rehearsal.station.oven_io, rehearsal.board
    board.begin(parse_fault("replies-silent@0"))
    assert not oven_io.off()
    assert not oven_io.feed()
    board.end(parse_fault("replies-silent@0"))
    assert oven_io.off()


def test_off_is_tried_again_when_a_reply_is_damaged() -> None:
    rehearsal = rehearse(BUNDLED, Job(loads(WARM, Profile, ProfileError, "t")), seed=3)
    rehearsal.board.begin(parse_fault("replies-damaged@0:0.05"))
    assert sum(rehearsal.station.oven_io.off() for _ in range(200)) > 195


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


@pytest.mark.on_demand
def test_a_rehearsed_oven_can_be_learned() -> None:
    model = learned_by_rehearsal((bundled("ovens") / "tempering-oven.toml").read_text(encoding="utf-8"))
    assert model.learned
    assert model.residual_k < 1.0
