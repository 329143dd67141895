"""The real supervisor over the controller that the words name: `watch_over.py wild_controller.py hangs`."""

import sys

from kilnctl.errors import KilnctlError
from kilnctl.processes.supervisor import Supervisor

try:
    sys.exit(Supervisor((sys.executable, *sys.argv[1:])).run())
except KilnctlError as e:
    sys.exit(f"{e}")
