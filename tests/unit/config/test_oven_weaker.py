"""What a person is asked to confirm must be true of the machine, not of what kilnctl happens to know of it.

A bench with a limiter and a door switch that both drop a contactor, neither told to the controller, was asked
to confirm "No safety contactor" and "Nothing makes the elements dead when the door opens".
"""

from kilnctl.config import home
from kilnctl.config.oven import load_oven

OVEN = load_oven(home.bundled("ovens") / "tempering-oven.toml")
BARE = OVEN.model_copy(
    update={
        "output": OVEN.output.model_copy(update={"contactor": None}),
        "signal": OVEN.signal.model_copy(update={"door_open": None}),
    }
)


def test_what_kilnctl_does_not_switch_or_see_is_said_of_kilnctl() -> None:
    said = [one for one in BARE.weaker if "contactor" in one or "door" in one]
    assert len(said) >= 3
    assert all(one.startswith("kilnctl ") for one in said), said
    assert not any(one.startswith(("No ", "Nothing ")) for one in said)
