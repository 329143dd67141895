"""How small changes of an oven pass on over one step of its model, in closed form: for the Kalman filter.

The step is the linearly implicit midpoint rule, so a change d of the temperatures passes on as
(C - h/2 J) d' = (C + h/2 J) d + h drive, with the capacities C, the slopes J of the heat flows half-way
through the step and what drives it from outside (textbook: trapezoidal rule). Differences of the model itself
say the same to some thousandths (tested), at four times the cost.
"""

import numpy as np
import numpy.typing as npt

from kilnctl.model.oven_model import OvenModel, OvenState

Matrix = npt.NDArray[np.float64]
_KELVIN = 273.15
NODES = 9


def passed_on(model: OvenModel, at: OvenState, dt_s: float, drives: Matrix) -> Matrix:
    """Return how the temperatures dt_s seconds on depend on those now and on each column of `drives`.

    `at` is the oven half-way through the step. A column of `drives` holds what a unit of its quantity brings
    to each node during the step, in the node's own unit of heat.
    """
    half = slopes(model, at) * (dt_s / 2)
    ahead, now = -half, np.concatenate((half, drives), axis=1)
    store = np.array(capacities(model))
    # The diagonals, as views: every (width + 1)-th number of a whole array.
    ahead.reshape(-1)[:: NODES + 1] += store
    now.reshape(-1)[: NODES * now.shape[1] : now.shape[1] + 1] += store
    return np.asarray(np.linalg.solve(ahead, now), dtype=np.float64)


def capacities(model: OvenModel) -> tuple[float, ...]:
    """Return what each node stores per kelvin in full-power seconds, the two of the sensor in seconds."""
    c = model.wall / 15
    sensor = model.sheath_s, model.junction_s
    return model.element, model.face, c, 2 * c, 4 * c, 8 * c, model.load, *sensor


def slopes(model: OvenModel, at: OvenState) -> Matrix:
    """Return how the heat that flows into each node (row) grows with each temperature (column)."""
    element, face, w1, w2, w3, w4, load, sheath, _ = at.nodes
    ke3, kf3 = ((element + _KELVIN) / 1000) ** 3, ((face + _KELVIN) / 1000) ** 3
    kl3, ks3 = ((load + _KELVIN) / 1000) ** 3, ((sheath + _KELVIN) / 1000) ** 3
    r, g = 0.004 * model.element_radiation, model.element_linear
    by_element, by_face = r * ke3 + g, r * kf3 + g
    r, g = 0.004 * model.load_radiation, model.load_linear
    load_by_face, load_by_load = r * kf3 + g, r * kl3 + g
    # Conductivity rises with temperature, so that each layer's flow has another slope on either side.
    g, gain = model.wall_conductance, model.wall_gain / 1000
    k0, k1, k2, k3, k4 = [1.0 + gain * t for t in (face, w1, w2, w3, w4)]
    g0, g1, g2, g3, g4 = g * 30.0, g * 10.0, g * 5.0, g * 2.5, g * 3.75
    seen, warm, glow = model.sees_element, model.warm_air, model.sheath_radiation
    j = np.zeros((NODES, NODES))
    j[0, 0], j[0, 1] = -by_element, by_face
    j[1, 0], j[1, 1] = by_element, -by_face - load_by_face - g0 * k0 - model.leak
    j[1, 2], j[1, 6] = g0 * k1, load_by_load
    j[2, 1], j[2, 2], j[2, 3] = g0 * k0, -(g0 + g1) * k1, g1 * k2
    j[3, 2], j[3, 3], j[3, 4] = g1 * k1, -(g1 + g2) * k2, g2 * k3
    j[4, 3], j[4, 4], j[4, 5] = g2 * k2, -(g2 + g3) * k3, g3 * k4
    j[5, 4], j[5, 5] = g3 * k3, -(g3 + g4) * k4
    j[6, 1], j[6, 6] = load_by_face, -load_by_load
    j[7, 0], j[7, 1] = warm + glow * seen * ke3, 1 - warm + glow * (1 - seen) * kf3
    j[7, 7] = -1 - glow * ks3
    j[8, 7], j[8, 8] = 1.0, -1.0
    return j
