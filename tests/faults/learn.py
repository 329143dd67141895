"""Learn the bundled ovens anew for the faulted heats, as `kilnctl tune` does: `python -m tests.faults.learn`.

To be run when the fit has changed: heats on a model that nobody would be given today prove nothing.
"""

import json

from kilnctl.config.oven import Oven
from kilnctl.errors import ConfigError
from kilnctl.rehearsal.learning_heat import learn
from kilnctl.tomlfile import loads
from tests.faults.scenarios import LEARNED, OVENS, oven_text


def main() -> None:
    """Write the model of each bundled oven into `learned`."""
    for name in OVENS:
        model = learn(loads(oven_text(name), Oven, ConfigError, "oven"))
        (LEARNED / f"{name}.json").write_text(json.dumps(model.to_dict()), encoding="utf-8")


if __name__ == "__main__":
    main()
