"""The oven file that `oven new` writes for a maker with one of the sheets of `sheets.md` or a usual bench."""

import re

from foreign.bench_answers import bench_answers
from foreign.first_answers import odd_answers
from foreign.fourth_answers import fourth_answers
from foreign.second_answers import odder_answers
from foreign.third_answers import third_answers

from kilnctl.cli.oven.oven_file.asking.asking import Asker
from kilnctl.cli.oven.oven_file.file_text import written
from kilnctl.cli.oven.oven_file.new import ask_way

MOST_ASKED = 130


def text_by_asking(name: str, board) -> str:
    """Return what is written for the bench of a name, which is at `board.path`."""
    at, asked = (board.path, getattr(board, "other_path", "")), []
    sheets = odd_answers(*at) | odder_answers(*at) | third_answers(at[0]) | fourth_answers(at[0])
    told = (bench_answers(at[0]) | sheets)[name]

    def ask(question: str) -> str:
        asked.append(question)
        assert len(asked) < MOST_ASKED, asked[-3:]
        answer = next((said for words, said in told.items() if re.search(words, question)), "")
        return answer if isinstance(answer, str) else answer()

    def say(text: str) -> None: ...

    return written(Asker(ask_way(ask, say), ask, say).file())
