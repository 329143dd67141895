"""Processes of kilnctl without the time that they take to load: forked from one that has everything loaded.

`python forking.py FD` stays and starts commands; whatever these start of kilnctl (supervisor, controller,
drill) is forked too. Each has its own memory, descriptors, session, parent and exit code as after an exec.
What is lost: the time and the order of loading, so a part of every campaign is played without.
"""

import array
import atexit
import contextlib
import gc
import importlib
import json
import os
import pkgutil
import runpy
import select
import signal
import socket
import sqlite3
import subprocess
import sys
import threading
import time
import traceback
import warnings
from functools import cache
from pathlib import Path
from typing import Any

COMMAND = "kilnctl.cli.main"
REGISTER = "HISTORIES_REGISTER"  # the file in which each forked process says what it is
FDS = 3


class Forked(subprocess.Popen[Any]):
    """A Popen that forks where the same Python would be started with `-m MODULE`; else as ever."""

    def _execute_child(self, args: Any, *more: Any) -> None:
        words = list(map(str, args)) if isinstance(args, list | tuple) else []
        if words[:1] != [sys.executable] or "-m" not in words:
            super()._execute_child(args, *more)  # type: ignore[misc]
            return
        module, rest = words[words.index("-m") + 1], words[words.index("-m") + 2 :]
        if _holds_a_database():
            super()._execute_child(args, *more)  # type: ignore[misc]
            _register(self.pid, module)
            return
        pass_fds, cwd, env, new_session = *more[3:6], more[20]
        p2cread, p2cwrite, c2pread, c2pwrite, errread, errwrite = more[9:15]
        pid = os.fork()
        if pid == 0:
            _become(module, rest, (p2cread, c2pwrite, errwrite), pass_fds, cwd, env, new_session)
        self.pid = pid
        self._child_created = True
        for its, ours in ((p2cread, p2cwrite), (c2pwrite, c2pread), (errwrite, errread)):
            if its != -1 and ours != -1:
                os.close(its)
        if (nothing := getattr(self, "_devnull", None)) is not None:
            os.close(nothing)
        self._closed_child_pipe_fds = True


def _holds_a_database() -> bool:
    """Return whether this process has a connection of SQLite, which may not be carried across a fork.

    Source: sqlite.org, howtocorrupt.html, 2.6.
    """
    return any(isinstance(one, sqlite3.Connection) for one in gc.get_objects())


def _become(
    module: str, words: list[str], fds: tuple[int, int, int], kept: Any, cwd: Any, env: Any, new_session: bool
) -> None:
    """Be this module as if it had just been started. Does not return."""
    code = 1
    try:
        _as_after_exec(fds, set(kept), cwd, env, new_session)
        _register(os.getpid(), module)
        sys.argv = [module, *words]
        code = _run(module)
    except BaseException:
        traceback.print_exc()
    finally:
        os._exit(code)


def _as_after_exec(fds: tuple[int, int, int], kept: set[int], cwd: Any, env: Any, new_session: bool) -> None:
    for number in range(1, signal.NSIG):
        with contextlib.suppress(OSError, ValueError):
            if callable(signal.getsignal(number)):
                signal.signal(number, signal.SIG_DFL)
    signal.signal(signal.SIGINT, signal.default_int_handler)
    signal.set_wakeup_fd(-1)
    atexit._clear()
    if new_session:
        os.setsid()
        signal.signal(signal.SIGHUP, signal.SIG_DFL)  # its terminal is its own; ours may be a nohup
    safe = [fd if fd == -1 else os.dup(fd) for fd in fds]  # none of them may be overwritten by another
    for at, fd in enumerate(safe):
        if fd != -1:
            os.dup2(fd, at)
    for name in os.listdir("/proc/self/fd"):
        if int(name) > 2 and int(name) not in kept:
            with contextlib.suppress(OSError):
                os.close(int(name))
    for fd in kept:
        os.set_inheritable(fd, True)
    if cwd is not None:
        os.chdir(cwd)
    if env is not None:
        os.environ.clear()
        os.environ.update({os.fsdecode(k): os.fsdecode(v) for k, v in env.items()})
    for at, name in enumerate(("stdin", "stdout", "stderr")):
        buffering = 1 if at == 2 or os.isatty(at) else -1
        errors = "backslashreplace" if at == 2 else "strict"
        stream = open(at, "w" if at else "r", buffering, "utf-8", errors, closefd=False)  # noqa: SIM115
        setattr(sys, name, stream)
        setattr(sys, f"__{name}__", stream)


def _register(pid: int, module: str) -> None:
    kind = next((k for k in ("supervisor", "controller") if module.endswith(f".{k}")), "other")
    began = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[19]
    line = f"{pid} {began} {kind} {os.environ.get('KILNCTL_HOME', '')}\n"
    fd = os.open(os.environ[REGISTER], os.O_WRONLY | os.O_APPEND | os.O_CREAT, 0o600)
    os.write(fd, line.encode())
    os.close(fd)


def _run(module: str) -> int:
    """Run a module to its end, as the interpreter does; return its exit code."""
    code: Any = 0
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", RuntimeWarning)  # runpy: it is loaded already
            runpy.run_module(module, run_name="__main__", alter_sys=True)
    except SystemExit as e:
        code = e.code
    except KeyboardInterrupt:
        traceback.print_exc()
        code = -signal.SIGINT
    except BaseException:
        traceback.print_exc()
        code = 1
    threading._shutdown()  # type: ignore[attr-defined]
    atexit._run_exitfuncs()
    for stream in (sys.stdout, sys.stderr):
        with contextlib.suppress(OSError, ValueError):
            stream.flush()
    if code == -signal.SIGINT:
        signal.signal(signal.SIGINT, signal.SIG_DFL)
        os.kill(os.getpid(), signal.SIGINT)
    if isinstance(code, str):
        print(code, file=sys.stderr)
    return code if isinstance(code, int) else int(code is not None)


# What the commands of a heat never load: a screen, reports, rehearsals, plans, figures.
LEFT_OUT = ("dashboard", "report", "rehearsal", "cli.plan", "cli.figure", "cli.record")


def load_everything() -> None:
    """Load every module that a heat, a drill or an off may load."""
    runpy.run_path(str(Path(__file__).with_name("wall_clock.py")))  # before anybody asks what time it is
    import kilnctl

    for found in pkgutil.walk_packages(kilnctl.__path__, "kilnctl."):
        name = found.name.removeprefix("kilnctl.")
        if not name.startswith(LEFT_OUT) and not name.endswith("__main__"):
            with contextlib.suppress(ImportError):
                importlib.import_module(found.name)
    importlib.import_module(COMMAND).app()
    gc.collect()
    gc.freeze()


def serve(wire: socket.socket) -> None:
    """Start what is asked for; tell each exit code on the socket that came with the order."""
    subprocess.Popen = Forked  # type: ignore[misc]
    load_everything()
    wire.sendall(b"ready")
    wake, bell = os.pipe()
    os.set_blocking(bell, False)
    signal.signal(signal.SIGCHLD, lambda *_: None)
    signal.set_wakeup_fd(bell)
    running: list[tuple[Forked, int]] = []
    while True:
        ready = select.select([wire, wake], [], [])[0]
        if wake in ready:
            os.read(wake, 4096)
        if wire in ready and not _begun(wire, running):
            return
        for one in [one for one in running if one[0].poll() is not None]:
            running.remove(one)
            with contextlib.suppress(OSError):
                os.write(one[1], f"{one[0].returncode}\n".encode())
            os.close(one[1])


def _begun(wire: socket.socket, running: list[tuple[Forked, int]]) -> bool:
    asked, extra, _, _ = wire.recvmsg(1 << 20, socket.CMSG_SPACE(4 * (FDS + 1)))
    if not asked:
        return False
    order = json.loads(asked)
    fds = array.array("i", b"".join(data for _, _, data in extra))
    stdin, stdout, stderr, said = fds
    words = [sys.executable, "-m", order["module"], *order["words"]]
    child = Forked(words, stdin=stdin, stdout=stdout, stderr=stderr, env=order["env"], start_new_session=True)
    for fd in (stdin, stdout, stderr):
        os.close(fd)
    os.write(said, f"{child.pid}\n".encode())
    running.append((child, said))
    return True


def _of_no_test() -> dict[str, str]:
    """Return an environment that names no test and no home: what it starts outlives the one that is on."""
    return {n: value for n, value in os.environ.items() if "TEST" not in n and n != "KILNCTL_HOME"}


class Nursery:
    """The caller's end: starts commands in the loaded process. Safe from any thread."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._wire, its = socket.socketpair(socket.AF_UNIX, socket.SOCK_SEQPACKET)
        words = [sys.executable, "-P", str(Path(__file__)), str(its.fileno())]
        self.process = subprocess.Popen(words, pass_fds=(its.fileno(),), env=_of_no_test())
        its.close()
        if self._wire.recv(10) != b"ready":
            raise RuntimeError("the loaded process did not come up")

    def start(
        self, words: tuple[str, ...], env: dict[str, str], fds: tuple[int, int, int], module: str = COMMAND
    ) -> "Command":
        """Start one command with these descriptors as stdin, stdout and stderr."""
        hears, said = os.pipe()
        order = json.dumps({"words": words, "env": env, "module": module}).encode()
        with self._lock:
            socket.send_fds(self._wire, [order], [*fds, said])
        os.close(said)
        return Command(hears)

    def piped(self, words: tuple[str, ...], env: dict[str, str]) -> "Command":
        """Start one command that has no terminal, with pipes to what it says."""
        (out, its_out), (err, its_err), nothing = os.pipe(), os.pipe(), os.open(os.devnull, os.O_RDONLY)
        command = self.start(words, env, (nothing, its_out, its_err))
        for fd in (nothing, its_out, its_err):
            os.close(fd)
        command.outer = (out, err)
        return command

    def close(self) -> None:
        """End it; what it has started goes on."""
        self._wire.close()
        self.process.wait(10.0)


_made = threading.Lock()


def shared() -> Nursery:
    """Return the nursery of this process; it ends with it."""
    with _made:
        return _only()


@cache
def _only() -> Nursery:
    return Nursery()


class Command:
    """One command of a nursery, with as much of a Popen as histories use."""

    def __init__(self, hears: int) -> None:
        self._hears = os.fdopen(hears, "rb", buffering=0)
        self.pid = int(self._line())
        self.returncode: int | None = None
        self.outer: tuple[int, ...] = ()

    def _line(self) -> bytes:
        came = b""
        while not came.endswith(b"\n") and (byte := self._hears.read(1)):
            came += byte
        return came

    def send_signal(self, number: int) -> None:
        """Send a signal; nothing where it has ended: its number may be another's by now."""
        if self.poll() is None:
            os.kill(self.pid, number)

    def kill(self) -> None:
        """Kill it."""
        self.send_signal(signal.SIGKILL)

    def poll(self) -> int | None:
        """Return the exit code, None while it goes on."""
        if self.returncode is None and select.select([self._hears], [], [], 0.0)[0]:
            self._take_code()
        return self.returncode

    def _take_code(self) -> None:
        code = self._line()
        self.returncode = int(code) if code else -signal.SIGKILL
        self._hears.close()

    def communicate(self, timeout: float | None = None) -> tuple[str, str]:
        """Read both pipes to their end and wait for the exit code. Raises TimeoutExpired."""
        end_s = None if timeout is None else time.monotonic() + timeout
        while end_s is not None and self.poll() is None:
            if time.monotonic() > end_s:
                raise subprocess.TimeoutExpired("kilnctl", timeout or 0.0)
            time.sleep(0.02)
        told = ["", ""]

        def read(at: int, fd: int) -> None:
            with os.fdopen(fd, "r", encoding="utf-8", errors="replace") as pipe:
                told[at] = pipe.read()

        readers = [threading.Thread(target=read, args=found, daemon=True) for found in enumerate(self.outer)]
        for reader in readers:
            reader.start()
        for reader in readers:
            reader.join()
        self.outer = ()
        if self.returncode is None:
            self._take_code()
        return told[0], told[1]


if __name__ == "__main__":
    serve(socket.socket(fileno=int(sys.argv[1])))
