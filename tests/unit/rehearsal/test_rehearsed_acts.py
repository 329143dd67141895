"""What a person or the computer does in a rehearsed heat: rarely, within the heat, and read strictly."""

import random

import pytest

from kilnctl.errors import ProfileError
from kilnctl.rehearsal.rehearsed_acts import BY_HAND, CLOCK_SET, Acts, draw_acts


def test_few_heats_have_an_act_and_it_lies_within_the_heat() -> None:
    dice = random.Random(1)
    drawn = [draw_acts([(0.0, 600.0), (600.0, 1800.0)], dice) for _ in range(2000)]
    acts = [act for one in drawn for act in one]
    assert len(acts) / len(drawn) == pytest.approx(BY_HAND + CLOCK_SET, abs=0.03)
    assert all(0.0 <= float(act.split("@")[1].split(":")[0]) <= 1800.0 for act in acts)
    assert {act.split("@")[0] for act in acts} == {"off", "clock"}
    Acts(acts)  # each of them can be read


@pytest.mark.parametrize("text", ["off", "off@soon", "door@900", "clock@900:late"])
def test_an_act_that_is_not_known_is_refused(text: str) -> None:
    with pytest.raises(ProfileError, match="cannot read"):
        Acts([text])
