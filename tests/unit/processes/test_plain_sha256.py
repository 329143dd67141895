"""What the controller of a heat loads, in a process of its own; the digest against NIST's example.

FIPS 180-4, example "abc" of SHA-256 (NIST, Cryptographic Standards and Guidelines, Examples with values).
"""

import subprocess
import sys

ABC = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
SAY = """
import hashlib, sys
print(hashlib.sha256(b"abc").hexdigest(), *(name for name, module in sys.modules.items() if module))
"""


def loaded(first: str) -> tuple[str, set[str]]:
    done = subprocess.run([sys.executable, "-c", first + SAY], check=True, capture_output=True, text=True)
    digest, *modules = done.stdout.split()
    return digest, set(modules)


def test_the_controller_of_a_heat_loads_no_openssl_and_no_recipes() -> None:
    """4 of 62 MB. A Python without a SHA-256 of its own keeps the library's."""
    digest, modules = loaded("import kilnctl.processes.controller")
    assert digest == ABC
    if {"_sha256", "_sha2"} & modules:
        assert not {"_hashlib", "_ssl"} & modules
    assert not {"kilnctl.treatment.recipe.recipes", "kilnctl.treatment.segments", "argparse"} & modules


def test_a_hashlib_that_is_there_already_stays_as_it_is() -> None:
    before, after = loaded("import hashlib"), loaded("import hashlib, kilnctl.processes.plain_sha256")
    assert ("_hashlib" in after[1]) == ("_hashlib" in before[1])
    assert after[0] == before[0] == ABC
