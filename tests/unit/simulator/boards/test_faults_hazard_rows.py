"""Every row of the hazard list: the script that produces it here, or why a simulator cannot."""

import pytest

from simulator.boards.board import Board
from simulator.boards.faults import FAULTS, parse_fault
from simulator.boards.two_ovens import PAIR_FAULTS, schedule_pair
from simulator.oven.ovens import hardening_furnace, tempering_oven

SCRIPTS: dict[str, tuple[str, ...]] = {
    "H01": ("sensor-open@1h",),
    "H02": ("sensor-short@1h",),
    "H03": ("sensor-reversed@0",),
    "H04": ("sensor-reversed-twice@0:60", "sensor-copper@0:60"),
    "H05": ("sensor-displaced@1h:60",),
    "H06": ("sensor-displaced@0:20",),
    "H07": ("sensor-drift@0:-5", "sensor-half-out@0:60", "sensor-slips@0"),
    "H08": ("sensor-frozen@1h", "sensor-hung@1h"),
    "H09": ("sensor-noise@1h:8", "sensor-spikes@1h:0.1"),
    "H10": ("sensor-k-as-j@0", "sensor-j-as-k@0"),
    "H11": ("sensor-fahrenheit@0", "sensor-converted-twice@0"),
    "H12": ("cold-junction-dead@0", "cold-junction-off@0:6"),
    "H13": ("sensor-scale@0:0.1", "sensor-scale@0:10"),
    "H14": ("sensor-gain@0:1.1",),
    "H15": ("sensors-crossed@0",),
    "H16": ("second-offset@1h:20", "sensor-offset@1h:20"),
    "H17": ("relay-welded@1h", "relay-late@1h", "relay-sticky@1h"),
    "H18": ("relay-open@1h", "contactor-open@1h"),
    "H19": ("relay-chatter@1h",),
    "H21": ("half-wave@1h",),
    "H22": ("outputs-crossed@0",),
    "H23": ("boots-on@0", "board-reset@1"),
    "H24": ("element-dead@1h:0.5",),
    "H25": ("element-dead@0:0.12", "element-ages@0"),
    "H26": ("supply-lost@1h",),
    "H27": ("supply-factor@1h:0.85",),
    "H28": ("supply-factor@1h:1.2",),
    "H29": ("contactor-welded@0", "limit-bridged@0"),
    "H30": ("replies-silent@1h",),
    "H31": (
        "replies-damaged@1h:0.05",
        "replies-damaged@1h:0.3",
        "replies-short@1h:0.3",
        "replies-junk@1h:0.3",
    ),
    "H32": ("replies-echoed@0",),
    "H33": ("wrong-device@1h", "addresses-swapped@1h", "replies-other-address@1h"),
    "H34": ("address-doubled@1h",),
    "H35": ("replies-late@1h:0.4", "replies-split@1h", "replies-lost@1h:0.2", "replies-flipped@1h"),
    "H36": ("foreign-frames@1h",),
    "H37": ("addresses-swapped@0",),
    "H49": ("power-cut@20min~10min",),
    "H50": ("power-cut@2h~10min",),
    "H51": ("power-cut@1h~40min",),
    "H52": ("power-cut@3h~10min",),
    "H53": ("power-cut@1h~10s", "power-cut@2h~10s"),
    "H54": ("supply-lost@1h~10min",),
    "H55": ("dead-man-stuck@0", "boots-on@0"),
    "H56": ("door-open@1h~60s", "door-ajar@1h", "door-bounces@1h", "cold-part@1h"),
    "H57": ("sensor-offset@1h:-20",),
    "H62": ("door-open@10min~20s",),
    "H69": ("smoke@1h", "module-silent@1h"),
    "H70": ("smoke@1h", "enclosure-hot@1h:90"),
    "H72": ("door-open@1h~5s",),
    "H74": ("fan-stopped@1h",),
    "H75": ("enclosure-hot@1h:75",),
    "H78": ("stray-on@1h",),
}
ELSEWHERE = {
    "H20": "leakage of a solid-state relay is no heat",
    "H38": "the controller's own loop",
    "H39": "the controller's own code",
    "H40": "the controller's process",
    "H41": "the controller's host",
    "H42": "the controller's clocks",
    "H43": "the controller's clocks",
    "H44": "the controller's disk",
    "H45": "the controller's database",
    "H46": "files",
    "H47": "screens",
    "H48": "the supervisor",
    "H58": "gains of the controller",
    "H59": "files",
    "H60": "files",
    "H61": "a person's confirmation",
    "H63": "the quench bath",
    "H64": "the quench bath",
    "H65": "a person's answer",
    "H66": "notifications",
    "H67": "who starts a heat",
    "H68": "what the oven is",
    "H71": "what the part is",
    "H73": "a person's touch",
    "H76": "the setting of the limit, a number in the record",
    "H77": "bounds of tuning",
    "H79": "marks of the simulator, tested with the devices",
}


def test_all_79_rows_are_here_once() -> None:
    assert sorted([*SCRIPTS, *ELSEWHERE]) == [f"H{i:02d}" for i in range(1, 80)]


def test_every_fault_belongs_to_a_row_or_is_an_aid() -> None:
    used = {text.partition("@")[0] for texts in SCRIPTS.values() for text in texts}
    aids = {"second-open", "live-says-on", "live-says-off", "ambient-shift"}
    assert used | aids == set(FAULTS) | set(PAIR_FAULTS)


@pytest.mark.parametrize("row", SCRIPTS)
def test_row_can_be_scripted_and_run(row: str) -> None:
    a, b = Board(tempering_oven()), Board(hardening_furnace(), identity=4243)
    pairs = False
    for text in SCRIPTS[row]:
        if text.partition("@")[0] in PAIR_FAULTS:
            schedule_pair(text, a, b)
            pairs = True
        else:
            a.schedule([parse_fault(text)])
    for _ in range(4 * 360):
        a.step(10.0)
        if pairs:
            b.step(10.0)
    assert a.at_s == 4 * 3600
