"""Ports that cannot be opened: one line that says what to do."""

import errno
import grp
import os
import pty
import subprocess
import sys
import termios
import tty

import pytest

from kilnctl.config.device_keys import Port
from kilnctl.devices.port import holder, is_pseudo_terminal, open_line, why_not
from kilnctl.errors import PortLost


@pytest.fixture
def slave():
    master, end = pty.openpty()
    tty.setraw(end)
    yield os.ttyname(end)
    os.close(master)
    os.close(end)


def test_on_another_system_no_port_is_opened(slave, monkeypatch):
    """Who holds a port, and who may ask for off, is known from the Linux kernel: proc(5), unix(7)."""
    monkeypatch.setattr(sys, "platform", "darwin")
    for path in (slave, "tcp://127.0.0.1:502"):
        with pytest.raises(PortLost, match="on Linux only"):
            open_line(Port(path=path), exclusive=True)


def test_no_such_port():
    with pytest.raises(PortLost, match=r"/dev/nothing: there is no such port.*by-id"):
        open_line(Port(path="/dev/nothing"), exclusive=True)


def test_not_permitted_names_the_group(tmp_path):
    path = tmp_path / "port"
    path.touch()
    group = grp.getgrgid(path.stat().st_gid).gr_name
    said = why_not(Port(path=str(path)), PermissionError(errno.EACCES, "Permission denied"))
    assert f"usermod -aG {group} $USER" in said


def test_second_owner_is_refused_and_told_who_has_it(slave):
    """Also where a process that stands before it in the system's list has only inherited the port."""
    there = os.open(slave, os.O_RDWR | os.O_NOCTTY)
    wait = [sys.executable, "-c", "import sys; sys.stdin.read()"]
    bystander = subprocess.Popen(wait, stdin=-1, pass_fds=(there,))
    os.close(there)
    code = (
        "import serial, sys; s = serial.Serial(sys.argv[1], exclusive=True); print('open', flush=True);"
        "sys.stdin.read()"
    )
    other = subprocess.Popen([sys.executable, "-c", code, slave], stdin=-1, stdout=-1)
    assert other.stdout.readline() == b"open\n"
    try:
        with pytest.raises(PortLost, match=rf"in use by process {other.pid} \(python"):
            open_line(Port(path=slave), exclusive=True)
        open_line(Port(path=slave), exclusive=False).close()
    finally:
        other.communicate()
        bystander.communicate()


def test_a_process_that_ends_while_it_is_looked_at_spoils_nothing(monkeypatch):
    """Its folder of files was in the list and is gone when it is opened: a moment that anyone may choose."""
    passing = subprocess.Popen([sys.executable, "-c", "import sys; sys.stdin.read()"], stdin=-1)

    def ending(look):
        def looked(path="."):
            if str(path) == f"/proc/{passing.pid}/fd":
                passing.communicate()
            return look(path)

        return looked

    monkeypatch.setattr(os, "scandir", ending(os.scandir))
    monkeypatch.setattr(os, "listdir", ending(os.listdir))
    assert "another program" in holder("/dev/nothing")
    assert passing.poll() == 0, "it was not looked at"


def test_holder_that_cannot_be_found_is_said_so():
    assert "another program" in holder("/dev/nothing")


def test_a_speed_that_the_port_refuses():
    said = why_not(Port(path="/dev/x", baud=12345), ValueError("Invalid baud rate: 12345"))
    assert said == "/dev/x: the port refuses 12345 baud; choose one that device and adapter both support"
    said = why_not(Port(path="/dev/x", parity="even"), termios.error(errno.EINVAL, "Invalid argument"))
    assert "parity even" in said


def test_pseudo_terminals_are_recognised(slave, tmp_path):
    link = tmp_path / "link"
    link.symlink_to(slave)
    assert is_pseudo_terminal(str(link))
    assert not is_pseudo_terminal("/dev/null")
    assert not is_pseudo_terminal("/dev/nothing")
