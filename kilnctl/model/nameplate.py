"""The model of an oven that has not been learned: constants typical of its build."""

from kilnctl.config.oven import Oven
from kilnctl.model.oven_model import PARAMETERS, OvenModel

# Invented typical builds, in the order of PARAMETERS, for the rehearsal of an oven that has not been learned;
# good to a factor of two.
_BUILDS: dict[str, tuple[float, ...]] = {
    "brick": (0.20, 1.2, 10.0, 0.3, 1.0, 4e-4, 3.0, 5e-4, 2.4e-4, 0.8, 1.5e-4, 60.0, 5.0, 5.0, 0.05, 0.1),
    "fibre": (0.15, 0.4, 2.5, 0.2, 1.2, 4e-4, 3.0, 5e-4, 1.5e-4, 2.0, 1.0e-4, 60.0, 5.0, 5.0, 0.05, 0.1),
    "heavy": (0.20, 1.5, 15.0, 0.5, 1.0, 4e-4, 3.0, 8e-4, 2.0e-4, 0.8, 1.5e-4, 60.0, 5.0, 5.0, 0.05, 0.1),
    "leaky": (0.20, 1.2, 1.5, 0.3, 0.8, 6e-4, 1.0, 3e-3, 6.0e-4, 0.8, 7.0e-4, 35.0, 1.0, 5.0, 0.03, 0.05),
    "fan": (0.30, 1.2, 2.0, 0.5, 0.6, 2e-3, 0.8, 8e-3, 8.0e-4, 0.8, 8.0e-4, 20.0, 0.5, 5.0, 0.02, 0.1),
}
BUILDS = tuple(_BUILDS)
_NAMEPLATE_SD = 0.6


def nameplate(oven: Oven) -> OvenModel:
    """Return a model of an oven that has not been learned: typical of its build, known to a factor of two."""
    return typical_of(oven.typical)


def typical_of(build: str) -> OvenModel:
    """Return a model of any oven of a build."""
    covariance = tuple(tuple(_NAMEPLATE_SD**2 * (a == b) for b in PARAMETERS) for a in PARAMETERS)
    constants = dict(zip(PARAMETERS, _BUILDS[build], strict=True))
    return OvenModel(**constants, residual_k=10.0, covariance=covariance)  # type: ignore[arg-type]
