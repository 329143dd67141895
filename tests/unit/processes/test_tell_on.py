"""A line for whoever still reads: when nobody does any more, the process that tells it goes on."""

import subprocess
import sys

TELLS = """
import os, sys
from kilnctl.processes.tell_on import tell_on
reads, writes = os.pipe()
os.dup2(writes, 1)
os.close(reads)
tell_on("nobody hears this")
tell_on("nor this")
sys.stderr.write("goes on")
"""


def test_a_reader_that_is_gone_ends_nothing() -> None:
    """In a process of its own: what is kept for a closed pipe is complained of only at its end."""
    done = subprocess.run([sys.executable, "-c", TELLS], capture_output=True, text=True, check=False)
    assert (done.returncode, done.stderr) == (0, "goes on")
