"""The command that says what every running oven is doing: status."""

from dataclasses import asdict
from json import dumps

from kilnctl.cli.terminal.place import who
from kilnctl.cli.terminal.tell import tell
from kilnctl.cli.watch import status_report
from kilnctl.link.snapshot import Snapshot
from kilnctl.link.trip_head import trip_head
from kilnctl.units import say_duration, say_point


def status(*, json: bool = False) -> int:
    """Show what every oven is doing. Exit code 0 also when nothing runs.

    Parameters
    ----------
    json:
        Print one JSON object instead of lines.
    """
    found = status_report.shop_status(who())
    if json:
        print(dumps(as_data(found)))
        return 0
    for snapshot in found.ovens.values():
        tell(*lines(snapshot))
    for oven in found.starting:
        print(f"{oven}: the heat is about to begin")
    said = status_report.lines(found)
    if not (found.ovens or found.starting or found.drilled or found.not_off):
        said.insert(0, "nothing is running")
    if said:
        tell(*said)
    return 0


def as_data(shop: status_report.ShopStatus) -> dict[str, object]:
    """Return what was found as plain data, for scripts."""
    return {
        "ovens": {name: asdict(snapshot) for name, snapshot in shop.ovens.items()},
        "starting": list(shop.starting),
        "set_up": list(shop.drilled),
        "interrupted": list(shop.not_off),
        "latched": [asdict(said) for said in shop.latched],
        "may_be_hot": [asdict(said) for said in shop.hot],
    }


def lines(s: Snapshot) -> list[str]:
    """Return the state of one oven in words."""
    now = "no reading" if s.process_c is None else say_point(s.process_c)
    goal = "" if s.goal_c is None else f", goal {say_point(s.goal_c)}"
    left = "" if s.total_left_s is None or s.waits_for else f", {say_duration(s.total_left_s)} left"
    said = [f"{s.oven}: {s.word}, {now}{goal}{left}" + (f" (run {s.run}, {s.profile})" if s.run else "")]
    if s.waits:
        said.append(f"  {s.waits}")
    if s.door_said:
        said.append(f"  {s.door_said}")
    if s.word == "silent":
        said.append(f"  {s.note}")
    if s.trip:
        head = trip_head(s)
        said += [f"  {head.action}", f"  tripped: {head.cause}", f"  {head.caution}"]
    if s.waiting:
        said.append(f"  waiting for you: {s.waiting.say}")
    said += [f"  alarm {a.kind} ({a.priority}, {a.state}): {a.reason_now}" for a in s.alarms]
    if not s.record_complete:
        said.append("  the record has gaps")
    return said
