"""What comes next, in one line at the end of a command; only where a person reads it."""

import sys
from collections.abc import Sequence

from kilnctl.cli.terminal.whole_words import whole_words

# {0} is the first word after the command. Commands that say it themselves have none.
NEXT = {
    "guide": "`kilnctl guide` lists all topics",
    "figure": "`kilnctl figure --help` lists the other questions",
    "off": "`kilnctl status` says what is known; a new heat is a new `kilnctl run`",
    "answer": "`kilnctl watch` shows what the heat does now",
    "adjust": "`kilnctl watch` shows the heat as it continues",
    "status": "`kilnctl watch` shows a running heat live; `kilnctl runs` lists the runs so far",
    "watch": "`kilnctl status` says in one line how the oven is; `kilnctl off` ends a heat",
    "acknowledge": "`kilnctl status` shows which alarms still stand",
    "shelve": "`kilnctl status` shows which alarms still stand",
    "oven": "`kilnctl oven check NAME` says what an oven can do; `kilnctl commission NAME` sets it up",
    "simulate": "`kilnctl runs` lists what was heated on it",
    "steel": "`kilnctl recipe new` writes a recipe by asking; `kilnctl recipe list` shows which there are",
    "recipe": "`kilnctl plan RECIPE` shows what a recipe becomes, step by step",
    "plan": "`kilnctl dry-run {0}` rehearses it on a modelled oven",
    "dry-run": "`kilnctl prove {0}` tries it against many faults; `kilnctl run {0}` heats",
    "prove": "`kilnctl run {0}` heats, and you stay with it",
    "run": "`kilnctl runs` lists the heat; `kilnctl export N --out heat.html` writes its page",
    "reset": "mend the cause that you named; then start a new heat with `kilnctl run`",
    "messages": '`kilnctl commission --step "horn and messages"` proves and dates them',
    "runs": "`kilnctl verify N` checks a record; `kilnctl export N --out heat.html` writes its page",
    "part": "`kilnctl part --help` lists what else a part can keep: tests, bows, notes",
    "compare": "`kilnctl compare {0} N --out both.pdf` overlays them",
    "export": "keep the page's short hash somewhere else: then no later change to the record goes unnoticed",
    "import": "`kilnctl verify` checks that all of it is complete",
    "verify": "`kilnctl export --all --out backup.zip` keeps a copy elsewhere",
    "commission": "`kilnctl commission {0} --list` shows what is open; `kilnctl tune {0}` learns it",
    "tune": "`kilnctl plan RECIPE --oven {0}` allows for what was learned",
    "care": "`kilnctl runs --due` shows all that is due",
}
# What a heat that did not end as asked asks for, by exit code.
AMISS = {
    4: "`kilnctl guide after-a-trip` says what to look for and how it is reset",
    6: "`kilnctl verify N` says what the record lacks",
    7: "`kilnctl guide when-it-went-wrong` says what can be done about the part",
}
HEATS = ("run", "dry-run", "tune")
SILENT = {"demo", "completion"}
TELL_IT = {("oven", "check"), ("oven", "new"), ("oven", "list"), ("oven", "change")}


def hint(words: Sequence[str], code: int = 0) -> str:
    """Return what comes next after a command line that ended with a code, nothing where it has said so."""
    if code:
        return f"Next: {AMISS[code]}" if code in AMISS and words[0] in HEATS and "--json" not in words else ""
    line = "" if tuple(words[:2]) in TELL_IT else NEXT.get(words[0], "")
    missing = "OVEN" if words[0] in ("commission", "tune") else "JOB"
    first = words[1] if len(words) > 1 and not words[1].startswith("-") else missing
    quiet = {"--json", "--help", "-h", "--list"} & set(words)
    return f"Next: {line.format(first)}" if line and not quiet else ""


def tell(words: Sequence[str], code: int) -> None:
    """Say it beside the result, where a person sits at a terminal."""
    if sys.stdout.isatty() and sys.stderr.isatty() and (line := hint(words, code)):
        print(whole_words(line, sys.stderr), file=sys.stderr)
