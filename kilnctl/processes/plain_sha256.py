"""Loaded first in the controller: hashlib then takes Python's own SHA-256, and OpenSSL is not loaded.

A record asks for some kilobytes of SHA-256 a second; the library that hashlib would load for it is 3.5 of the
62 MB of a running heat. Nothing changes where hashlib is there already, or Python has no SHA-256 of its own.
"""

import sys
from importlib.util import find_spec

if "hashlib" not in sys.modules and (find_spec("_sha256") or find_spec("_sha2")):
    # None makes the import fail (Python's language reference, "the module cache"); hashlib does without it.
    sys.modules["_hashlib"] = None  # type: ignore[assignment]
