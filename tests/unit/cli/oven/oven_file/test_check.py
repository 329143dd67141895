"""What `oven check` says of a file, before any wire."""

from kilnctl.cli.oven.oven_file.check import report
from kilnctl.config.home import bundled
from kilnctl.config.oven import load_oven
from kilnctl.config.places import Switch

OVEN = load_oven(bundled("ovens") / "tempering-oven.toml")


def test_beside_a_contact_stands_which_level_means_yes() -> None:
    """A newcomer could not see whether what he had answered of a door was the right way round."""
    for inverted, said in ((False, "1 means yes"), (True, "0 means yes (inverted)")):
        door = Switch(device=next(iter(OVEN.device)), table="discrete", register=7, inverted=inverted)
        oven = OVEN.model_copy(update={"signal": OVEN.signal.model_copy(update={"door_open": door})})
        (line,) = [one for one in report(oven, "x") if one.strip().startswith("signal.door_open")]
        assert line.endswith(said)
