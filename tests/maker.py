"""A maker who answers the set-up walk by the words of its questions, and does at the oven what he is told."""

import re
from collections.abc import Callable, Mapping

from kilnctl.commissioning.operator import Later


class Maker:
    """Answers by patterns, the first that fits; keys are y unless `no` fits; `acts` by what is said."""

    def __init__(
        self,
        answers: Mapping[str, str] | None = None,
        no: str = "",
        acts: Mapping[str, Callable[[], object]] | None = None,
    ) -> None:
        self.answers, self.no, self.acts = dict(answers or {}), no, dict(acts or {})
        self.heard: list[str] = []

    @property
    def text(self) -> str:
        return "\n".join(self.heard)

    def say(self, line: str) -> None:
        self.heard.append(line)
        self._act(line)

    def ask(self, question: str, needed: bool = True) -> str:
        self.heard.append(question)
        self._act(question)
        for pattern, answer in self.answers.items():
            if re.search(pattern, question):
                return answer
        if needed:
            raise Later
        return ""

    def key(self, question: str) -> bool:
        self.heard.append(question)
        self._act(question)
        return not (self.no and re.search(self.no, question))

    def _act(self, line: str) -> None:
        for pattern, act in self.acts.items():
            if re.search(pattern, line):
                act()
