"""Tuning rules and margins against textbook numbers and the python-control package.

FOPDT rows: computed from ωL + atan(ωT) = π; SIMC robustness figures from Skogestad's table (from memory,
recomputed here with python-control, which is loaded by who needs it: every worker collects, and it takes as
long to load as all the rest). A relay test under-reads Ku on a pure FOPDT by 17 to 19 %.
"""

import math

import numpy as np
import pytest

from kilnctl.control.pid_tuning import largest_gain, simc
from tests.bench.control import rivals


@pytest.mark.parametrize(
    ("k", "t", "late", "ku", "pu", "zn"),
    [
        (1, 1, 0.2, 8.502, 0.7442, (5.101, 0.372, 0.0930)),
        (1, 1, 1, 2.262, 3.097, (1.357, 1.549, 0.387)),
        (1, 10, 1, 16.35, 3.850, (9.810, 1.925, 0.481)),
        (8, 1800, 60, 5.970, 236.8, (3.582, 118.4, 29.6)),
    ],
)
def test_closed_loop_ziegler_nichols(k, t, late, ku, pu, zn):
    """Ultimate gain by bisection on the phase, then the rule."""
    low, high = 1e-9, math.pi / late
    for _ in range(200):
        w = (low + high) / 2
        low, high = (w, high) if w * late + math.atan(w * t) < math.pi else (low, w)
    assert math.sqrt(1 + (w * t) ** 2) / k == pytest.approx(ku, rel=1e-3)
    assert 2 * math.pi / w == pytest.approx(pu, rel=1e-3)
    rule = rivals.zn(ku, pu)
    assert (rule.gain, rule.integral_s, rule.derivative_s) == pytest.approx(zn, rel=3e-3)


@pytest.mark.parametrize(
    ("k", "t", "late", "expected"),
    [
        (1, 1, 0.2, (2.45, 0.5867, 0.0943)),
        (1, 1, 1, (0.65, 1.091, 0.3846)),
        (1, 10, 1, (4.7, 4.2, 0.4854)),
        (8, 1800, 60, (1.7125, 366, 29.7)),
    ],
)
def test_amigo(k, t, late, expected):
    rule = rivals.amigo(k, t, late)
    assert (rule.gain, rule.integral_s, rule.derivative_s) == pytest.approx(expected, rel=3e-3)


def test_simc_on_an_integrating_process_has_the_published_robustness():
    """Ti = 8L: Ms 1.70, gain margin 2.96, phase margin 46.9 degrees, delay margin 1.59 L."""
    import control

    k, late = 0.01, 50.0
    gains = simc(k, late, late)
    assert gains.integral_s == pytest.approx(8 * late)
    w = np.geomspace(1e-4, 0.1, 4_000)
    s = 1j * w
    loop = gains.duty_per_k * (1 + 1 / (gains.integral_s * s)) * k * np.exp(-late * s) / s
    open_loop = control.frd(loop, w, smooth=True)
    gain_margin, phase_margin, _, crossing = control.margin(open_loop)[:4]
    assert gain_margin == pytest.approx(2.96, rel=0.01)
    assert phase_margin == pytest.approx(46.9, abs=0.3)
    assert math.radians(phase_margin) / crossing / late == pytest.approx(1.59, rel=0.01)
    assert np.max(1 / np.abs(1 + loop)) == pytest.approx(1.70, abs=0.01)


def test_the_refused_gain_is_where_python_control_loses_stability():
    import control

    k, late = 0.01, 50.0
    w = np.geomspace(1e-4, 0.5, 4_000)
    loop = control.frd(k * np.exp(-late * 1j * w) / (1j * w), w, smooth=True)
    assert control.margin(loop)[0] == pytest.approx(largest_gain(k, late), rel=1e-3)
