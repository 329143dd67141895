"""A person at a real terminal: reads what a command prints, answers its questions by their words."""

import os
import pty
import re
import select
import subprocess
import time
from collections.abc import Callable, Mapping

ONE_KEY = re.compile(r"\[y/(n/q|N)\] $")
QUESTION = re.compile(rf"({ONE_KEY.pattern[:-2]}|\[y/n\]|[:?]) $")


class Typist:
    """Runs a command on a pseudo-terminal. `answers` and `acts` go by the words of the last lines."""

    def __init__(self, words: list[str], env: Mapping[str, str]) -> None:
        self._fd, inner = pty.openpty()
        self.process = subprocess.Popen(
            words, stdin=inner, stdout=inner, stderr=inner, env=dict(env), start_new_session=True
        )
        os.close(inner)
        self.text = ""

    def go(
        self,
        answers: Mapping[str, str | Callable[[], str]],
        acts: Mapping[str, Callable[[], object]],
        timeout_s: float,
        default: str = "y",
    ) -> int:
        """Answer until the command ends; return its exit code. An answer that is no key gets its Enter."""
        give_up_s = time.monotonic() + timeout_s
        seen, acted = 0, dict.fromkeys(acts, 0)
        while self.process.poll() is None:
            assert time.monotonic() < give_up_s, self.text[-2000:]
            self._read()
            for pattern, act in acts.items():
                match = re.compile(pattern).search(self.text, acted[pattern])
                if match:
                    act()
                    acted[pattern] = match.end()
            asked = self.text.rpartition("\n")[2]
            # Half a line of explanation may end like a question where a read happens to end.
            if len(self.text) > seen and QUESTION.search(asked) and not asked.startswith("#"):
                seen = len(self.text)
                self._type(next((a for p, a in answers.items() if re.search(p, asked)), default), asked)
        self._read()
        return self.process.wait()

    def _type(self, answer: str | Callable[[], str], asked: str) -> None:
        answer = answer if isinstance(answer, str) else answer()
        end = "" if ONE_KEY.search(asked) else "\n"
        os.write(self._fd, (answer + end).encode())

    def _read(self) -> None:
        while select.select([self._fd], [], [], 0.05)[0]:
            try:
                data = os.read(self._fd, 65536)
            except OSError:
                return
            if not data:
                return
            self.text += data.decode(errors="replace").replace("\r\n", "\n")

    def close(self) -> None:
        self.process.kill()
        self.process.wait()
        os.close(self._fd)
