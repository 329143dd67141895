"""Element ageing against the worked example of the job and against scipy's integrator."""

import numpy as np
import pytest
from heats import START_UTC, header, samples, temper
from scipy.integrate import solve_ivp

from kilnctl.care.ageing import (
    Body,
    body_of,
    ceiling_c,
    full_power_s,
    held_duty,
    history,
    judge,
    measured_s,
    power_w,
)
from kilnctl.errors import ConfigError
from kilnctl.logbook.blocks import to_ints
from kilnctl.logbook.readers import Curve, Reader
from kilnctl.logbook.sample import Sample
from kilnctl.logbook.writer import Logbook

FURNACE = Body(18_000.0, 1.6, 20.0)  # invented furnace of the job's notes, 2400 W


def test_full_power_time_and_power_belong_together() -> None:
    # J32, from its closed form by hand.
    assert full_power_s(FURNACE, 2400.0, 400.0, 700.0) / 60 == pytest.approx(58.5, abs=0.1)
    assert power_w(FURNACE, 70.3 * 60, 400.0, 700.0) == pytest.approx(2143.0, abs=2.0)
    assert full_power_s(FURNACE, 2400.0 * 0.9**2, 400.0, 700.0) / 60 == pytest.approx(83.5, abs=0.1)
    assert full_power_s(FURNACE, 1200.0, 400.0, 700.0) / 60 == pytest.approx(312.0, abs=1.0)
    assert ceiling_c(FURNACE, 1200.0) == pytest.approx(770.0)


def test_the_closed_form_agrees_with_an_integrator() -> None:
    def warming(_t: float, y: np.ndarray) -> np.ndarray:
        return (2143.0 - 1.6 * (y - 20.0)) / 18_000.0

    def arrived(_t: float, y: np.ndarray) -> float:
        return float(y[0] - 700.0)

    arrived.terminal = True  # type: ignore[attr-defined]
    found = solve_ivp(warming, (0, 20_000), [400.0], events=arrived, rtol=1e-9)
    assert full_power_s(FURNACE, 2143.0, 400.0, 700.0) == pytest.approx(float(found.t_events[0][0]), rel=1e-6)


def test_out_of_reach_is_said() -> None:
    with pytest.raises(ConfigError, match="ceiling is 770"):
        full_power_s(FURNACE, 1200.0, 400.0, 800.0)


@pytest.mark.parametrize(
    ("power", "volts", "word"),
    [
        (2400.0, None, "as it should be"),
        (2143.0, None, "plan a replacement"),
        (1944.0, None, "measure the supply voltage"),
        (1944.0, 207.0, "as it should be"),  # ten per cent less than 230 V explains all of it
        (1944.0, 230.0, "plan a replacement"),
        (1200.0, None, "fault"),
        (1200.0, 230.0, "fault"),
    ],
)
def test_what_a_power_means(power: float, volts: float | None, word: str) -> None:
    assert word in judge(power, 2400.0, volts, 230.0 if volts else None)


def _climbing(duty: float) -> list[Sample]:
    """From 390 to 720 degC at 0.1 K/s, a sample every ten seconds."""
    return [
        s._replace(elapsed_s=10.0 * i, process_c=390.0 + i, duty=duty) for i, s in enumerate(samples(330))
    ]


def _climb(duty: float) -> Curve:
    return Curve(to_ints(_climbing(duty)))


def test_only_a_whole_full_power_climb_is_measured() -> None:
    assert measured_s(_climb(1.0), 400.0, 700.0) == pytest.approx(3000.0, abs=10.0)
    assert measured_s(_climb(0.9), 400.0, 700.0) is None
    assert measured_s(_climb(1.0), 400.0, 900.0) is None
    assert measured_s(_climb(1.0), 300.0, 700.0) is None  # it was above 300 when the record began


def test_the_body_is_found_from_a_healthy_heat() -> None:
    # The invented furnace holds 830 degC with 0.54 of 2400 W and takes 58.45 min from 400 to 700 degC.
    found = body_of(2400.0, 0.54, 830.0, 58.45 * 60, 400.0, 700.0, 20.0)
    assert found.loss_w_per_k == pytest.approx(FURNACE.loss_w_per_k, rel=0.001)
    assert found.capacity_j_per_k == pytest.approx(FURNACE.capacity_j_per_k, rel=0.002)


def test_the_duty_that_held_a_temperature_is_read_off() -> None:
    assert held_duty(Curve(to_ints(temper()))) == pytest.approx((218.0, 0.4))
    assert held_duty(Curve(to_ints(temper()[:3960]))) is None
    assert held_duty(Curve(to_ints(temper()[:4100]))) is None  # held for two minutes only


def test_the_history_has_the_runs_at_full_power() -> None:
    with Logbook(None) as book:
        for duty in (1.0, 0.9, 1.0):
            run = book.start_run(header())
            book.append(run, _climbing(duty), [])
            book.finish(run, "complete", {}, START_UTC)
        found = history(Reader(book.connection), "tempering-oven", 400.0, 700.0)
    assert [run for run, _ in found] == [1, 3]
