"""The pages about ways of connecting: every example loads, every key of schema and examples is told."""

import re
import subprocess
import tomllib
from pathlib import Path

import pytest
from pydantic import BaseModel

from kilnctl.config import device_keys, wiring
from kilnctl.config import oven as oven_file
from kilnctl.config.oven import Oven
from kilnctl.errors import ConfigError
from kilnctl.tomlfile import Strict, loads

DOCS = sorted(Path("kilnctl/guide/connect").glob("*.md"))
TEXT = {path.name: path.read_text(encoding="utf-8") for path in DOCS}
EXAMPLES = [
    (name, toml) for name, text in TEXT.items() for toml in re.findall(r"```toml\n(.*?)```", text, re.S)
]
MODELS = [
    model
    for module in (oven_file, device_keys, wiring)
    for model in vars(module).values()
    if isinstance(model, type) and issubclass(model, BaseModel) and model is not Strict
]


def told(text: str) -> set[str]:
    """Return the keys in the first column of the page's tables."""
    rows = re.findall(r"^\| (`[^|]*) \|", text, re.M)
    return {key for row in rows for key in re.findall(r"`([a-z_]+)`", row)}


def keys_in(data: object, names: bool = False) -> set[str]:
    """Return the keys of an example; names that the maker chooses (of ports, devices, lines) are left out."""
    found: set[str] = set()
    for key, value in data.items() if isinstance(data, dict) else ():
        found |= set() if names else {key}
        found |= keys_in(
            value, names=not names and key in ("port", "device", "tell", "words") and isinstance(value, dict)
        )
        for item in value if isinstance(value, list) else ():
            found |= keys_in(item)
    return found


@pytest.mark.parametrize(("page", "toml"), EXAMPLES, ids=[f"{p}-{i}" for i, (p, _) in enumerate(EXAMPLES)])
def test_every_example_loads_and_its_page_tells_every_key(page, toml):
    oven = loads(toml, Oven, ConfigError, page)
    assert oven.has_dead_man
    assert keys_in(tomllib.loads(toml)) - told(TEXT[page]) == set()


def test_there_is_a_page_for_every_way_of_connecting():
    kinds = {
        device.kind for _, toml in EXAMPLES for device in loads(toml, Oven, ConfigError, "x").device.values()
    }
    heaters = {loads(toml, Oven, ConfigError, "x").output.heater.kind for _, toml in EXAMPLES}
    assert kinds == {"modbus", "line", "text"}
    assert heaters == {"switch", "pulse", "duty", "set-point"}


def test_every_key_of_the_schema_is_told_in_one_place():
    keys = {field.alias or name for model in MODELS for name, field in model.model_fields.items()}
    assert len(keys) > 80
    assert keys - told(TEXT["oven-file.md"]) == set()


def test_no_key_is_told_that_the_schema_does_not_have():
    keys = {field.alias or name for model in MODELS for name, field in model.model_fields.items()}
    assert {page: told(text) - keys for page, text in TEXT.items() if told(text) - keys} == {}


@pytest.mark.parametrize("page", [name for name, text in TEXT.items() if "```toml" in text])
def test_every_page_with_an_oven_file_defers_to_electrician_and_code(page):
    text = " ".join(TEXT[page].replace(">", " ").split())
    assert "licensed electrician" in text
    assert "local electrical and fire codes" in text


def test_pages_link_to_pages_that_exist():
    for text in TEXT.values():
        for link in re.findall(r"\]\(([a-z-]+\.md)\)", text):
            assert link in TEXT


def test_the_service_never_restarts_into_heat():
    service = TEXT["ports-and-services.md"]
    assert "Restart=no" in service
    assert not re.search(r"^Restart=(?!no$)", service, re.M)
    assert re.search(r"ExecStart=.*--record-only", service)
    assert re.search(r"ExecStartPre=.* off ", service)


def blocks(page):
    return re.findall(r"```\n(.*?)```", TEXT[page], re.S)


@pytest.mark.on_demand  # needs systemd-analyze, which not every machine has
def test_systemd_understands_the_service(tmp_path):
    unit = next(block for block in blocks("ports-and-services.md") if block.startswith("[Unit]"))
    file = tmp_path / "kilnctl-record@oven.service"
    file.write_text(unit.replace("/opt/kilnctl/bin/kilnctl", "/bin/true"))
    found = subprocess.run(["systemd-analyze", "verify", file], capture_output=True, text=True, check=False)
    assert (found.returncode, found.stderr) == (0, "")


@pytest.mark.on_demand  # as above
def test_the_service_may_do_little(tmp_path):
    """The exposure that systemd itself reckons: 0 is none, 10 all; at most 3 is asked."""
    unit = next(block for block in blocks("ports-and-services.md") if block.startswith("[Unit]"))
    file = tmp_path / "kilnctl-record@oven.service"
    file.write_text(unit)
    words = ["systemd-analyze", "security", "--offline=true", "--threshold=30", file]
    found = subprocess.run(words, capture_output=True, text=True, check=False)
    assert found.returncode == 0, found.stdout[-300:]


def test_the_udev_rules_are_rules():
    """Matches and assignments of udev(7): KEY or KEY{attribute}, an operator, a value in double quotes."""
    rules = [
        line
        for block in blocks("ports-and-services.md")
        for line in block.splitlines()
        if "SUBSYSTEM" in line
    ]
    assert len(rules) >= 3
    keys = r"(SUBSYSTEM|KERNELS|ATTRS\{\w+\}|ENV\{\w+\}|SYMLINK|GROUP|MODE)"
    for line in rules:
        assert re.fullmatch(rf'{keys}(==|\+=|=)"[^"]*"(, {keys}(==|\+=|=)"[^"]*")*', line), line
