"""What the path of a port means, and which addresses an oven may have (RFC 1918 and its like)."""

from pathlib import Path

import pytest
from pydantic import ValidationError

from kilnctl.config.device_keys import Port
from kilnctl.config.port_path import host_and_number, is_network, meant, real, why_no_port


@pytest.mark.parametrize(
    "path", ["tcp://192.168.4.20:502", "tcp://10.0.0.1:1", "socket://172.31.0.9:4001", "tcp://[fd00::1]:502"]
)
def test_an_address_of_ones_own_network_is_good(path: str) -> None:
    assert is_network(path)
    assert why_no_port(path) == ""
    assert meant(path) == real(path) == path


@pytest.mark.parametrize(
    ("path", "why"),
    [
        ("tcp://8.8.8.8:502", "internet"),
        ("tcp://172.32.0.1:502", "internet"),  # one past the end of 172.16/12
        ("tcp://oven.local:502", "in numbers"),
        ("tcp://192.168.4.20", "in numbers"),
        ("tcp://192.168.4.20:70000", "65535"),
    ],
)
def test_any_other_is_refused_with_what_to_write(path: str, why: str) -> None:
    assert why in why_no_port(path)


def test_a_bare_name_lies_in_the_kilnctl_folder_and_a_link_is_followed(own_home: Path) -> None:
    assert meant("lines/oven") == str(own_home / "lines" / "oven")
    assert meant("/dev/ttyUSB0") == "/dev/ttyUSB0"
    (own_home / "one").symlink_to(own_home / "two")
    assert real(str(own_home / "one")) == str((own_home / "two").resolve())


def test_brackets_are_no_part_of_the_host() -> None:
    assert host_and_number("tcp://[fd00::1]:502") == ("fd00::1", 502)


@pytest.mark.parametrize(
    "path", ["192.168.4.20:502", "192.168.4.20", "http://192.168.4.20:502", "modbus://192.168.4.20"]
)
def test_an_address_of_no_kind_or_of_another_is_told_which_to_write(path: str) -> None:
    """Either was taken for the name of a file, and the oven file was called complete."""
    with pytest.raises(ValidationError, match=r'begins with its kind: "tcp://192.168.4.20'):
        Port(path=path)
