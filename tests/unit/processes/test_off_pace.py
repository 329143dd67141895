"""How long the alarm of an off waits: by what each board has answered, and never for one that does not."""

from dataclasses import dataclass, field

import pytest

from kilnctl.processes.off_pace import ALARM_S, LATEST_S, READ_S, Pace


class Clock:
    now_s = 100.0

    def real_s(self) -> float:
        return self.now_s


@dataclass
class Ports:
    """The ports as `off` has opened them: who was asked nothing yet, who answers, who has read off."""

    asked_nothing: set[str] = field(default_factory=set)
    looks: dict[str, float] = field(default_factory=dict)
    read: set[str] = field(default_factory=set)
    began_s: float = 100.0

    def untried(self) -> set[str]:
        return self.asked_nothing

    def looks_s(self) -> dict[str, float]:
        return self.looks

    def read_off(self) -> set[str]:
        return self.read

    def heard(self) -> set[str]:
        return set(self.looks)


@pytest.mark.parametrize(
    ("ports", "latest_s"),
    [
        (Ports(), None),
        (Ports(looks={"a": 0.5}), None),  # b is silent
        (Ports(looks={"a": 0.5, "b": 0.1}), ALARM_S + 3 * 0.5),
        (Ports(looks={"a": 0.5, "b": 0.1}, began_s=101.5), ALARM_S + 1.5 + 3 * 0.5),
        (Ports(looks={"a": 9.0, "b": 0.1}), LATEST_S),
        (Ports(asked_nothing={"a"}, looks={"b": 0.1}), LATEST_S),
        (Ports(asked_nothing={"a"}), None),  # b is silent
        (Ports(looks={"a": 9.0, "b": 9.0}, read={"a"}), LATEST_S),
        (Ports(looks={"a": 9.0, "b": 9.0}, read={"a", "b"}), READ_S),
    ],
)
def test_the_alarm_waits_for_who_answers(ports: Ports, latest_s: float | None) -> None:
    assert Pace(Clock(), ports).latest_s({"a", "b"}) == latest_s


def test_what_a_controller_tells_counts_while_it_is_asked() -> None:
    pace = Pace(Clock(), Ports())
    assert pace.hears({"looks_s": {"a": 0.5}, "reads_off": {"a": 0}}) == 0.5
    assert pace.latest_s({"a"}) == ALARM_S + 6 * 0.5
    pace.hears({"looks_s": {"a": 1.0}, "reads_off": {"a": 1}})
    assert pace.latest_s({"a"}) == READ_S
    pace.asks()
    assert pace.latest_s({"a"}) is None


@pytest.mark.parametrize(
    "odd", [None, 3, {"reads_off": None}, {"reads_off": {"a": "1"}}, {"reads_off": {"a": True}}]
)
def test_an_odd_line_proves_nothing(odd: object) -> None:
    pace = Pace(Clock(), Ports())
    assert pace.hears(odd) == 0.0
    assert pace.latest_s({"a"}) is None
