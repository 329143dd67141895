import pytest

from kilnctl.config import home
from kilnctl.config.oven import load_oven
from kilnctl.marks.off_stamp import outlets
from kilnctl.marks.oven_identity import identity_of


@pytest.mark.parametrize("path", sorted(home.bundled("ovens").glob("*.toml")), ids=lambda path: path.stem)
def test_an_identity_is_that_of_the_off_stamp(path):
    assert set(identity_of(load_oven(path)).at) <= set(outlets(path.read_text(encoding="utf-8")))
