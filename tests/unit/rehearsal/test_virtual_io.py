"""Every kind of heater on virtual I/O: it heats, it is read back, and every way out leaves it off."""

import pytest

from kilnctl.config.home import bundled
from kilnctl.config.oven import Oven, load_oven
from kilnctl.devices.interfaces import HeatRequest
from kilnctl.errors import ProfileError
from kilnctl.heat.job import Job
from kilnctl.profile.segments import Profile
from kilnctl.rehearsal.dry_run import rehearse
from kilnctl.tomlfile import loads
from simulator.boards.faults import parse_fault

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


def test_every_exchange_of_half_a_minute_counts_as_on_real_bytes() -> None:
    """Three in ten lost: 0.3 of all within a few standard deviations, and none 31 s after it is over."""
    rehearsal = rehearse(BUNDLED, Job(loads(WARM, Profile, ProfileError, "t")))
    oven_io, board = rehearsal.station.oven_io, rehearsal.board
    oven_io.connect()
    shares, lost = [], parse_fault("replies-lost@0:0.3")
    for second in range(1, 131):
        if second == 31:
            board.begin(lost)
        if second == 91:
            board.end(lost)
        oven_io.feed()
        oven_io.drive(HeatRequest(on=second % 2 == 0, duty=0.5))
        shares.append(oven_io.scan(float(second)).link.bad_fraction)
    assert set(shares[:30]) == {0.0}
    assert all(0.15 < share < 0.45 for share in shares[62:90])
    assert set(shares[122:]) == {0.0}
