"""The workshop whose name and mark stand on a page."""

from pathlib import Path

import pytest

from kilnctl.errors import ConfigError
from kilnctl.report.workshop import Workshop, workshop


def test_the_workshop_is_read_from_its_file_and_a_wrong_mark_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("KILNCTL_HOME", str(tmp_path))
    assert workshop() == Workshop()
    file = tmp_path / "workshop.toml"
    file.write_text('name = "Weir Lane"\nline = "edge tools"\nmark = "mark.png"\n', encoding="utf-8")
    with pytest.raises(ConfigError, match="mark cannot be read"):
        workshop()
    (tmp_path / "mark.png").write_bytes(b"GIF89a")
    with pytest.raises(ConfigError, match="must be a PNG"):
        workshop()
    (tmp_path / "mark.png").write_bytes(b"\x89PNG\r\n\x1a\n...")
    assert workshop().words == "Weir Lane · edge tools"
