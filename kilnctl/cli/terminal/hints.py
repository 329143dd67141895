"""What comes next, in one line after a command that went well; only where a person reads it."""

import sys
from collections.abc import Sequence

# {0} is the first word after the command. Commands that say it themselves, or that are a screen, have none.
NEXT = {
    "steel": "`kilnctl recipe new` writes a recipe by asking; `kilnctl recipe list` shows which there are",
    "recipe": "`kilnctl plan RECIPE` shows what a recipe becomes, segment by segment",
    "plan": "`kilnctl dry-run {0}` rehearses it on a modelled oven",
    "dry-run": "`kilnctl prove {0}` tries it against many faults; `kilnctl run {0}` heats",
    "prove": "`kilnctl run {0}` heats, and you stay with it",
    "run": "`kilnctl runs` lists the heat; `kilnctl export N --out heat.html` writes its page",
    "reset": "find the cause first; then start a new heat with `kilnctl run`",
    "messages": '`kilnctl commission --step "horn and messages"` proves and dates them',
    "runs": "`kilnctl verify N` checks a record; `kilnctl export N --out heat.html` writes its page",
    "part": "`kilnctl part --help` lists what else a part can keep: tests, bows, notes",
    "compare": "`kilnctl compare {0} N --out both.pdf` draws them over each other",
    "export": "keep the short hash of the page somewhere else: then no change to the record goes unseen",
    "import": "`kilnctl verify` checks that all of it is complete",
    "verify": "`kilnctl export --all --out backup.zip` keeps a copy elsewhere",
    "commission": "`kilnctl commission {0} --list` shows what is open; `kilnctl tune {0}` learns it",
    "tune": "`kilnctl plan RECIPE --oven {0}` allows for what was learned",
    "care": "`kilnctl runs --due` shows all that is due",
}
SILENT = {
    *("demo", "guide", "completion", "figure", "off", "answer", "adjust", "status", "watch"),
    *("acknowledge", "shelve", "oven", "simulate"),
}


def hint(words: Sequence[str]) -> str:
    """Return what comes next after a command line, nothing where nothing needs saying."""
    line = NEXT.get(words[0], "")
    missing = "OVEN" if words[0] in ("commission", "tune") else "JOB"
    first = words[1] if len(words) > 1 and not words[1].startswith("-") else missing
    quiet = {"--json", "--help", "-h", "--list"} & set(words)
    return f"Next: {line.format(first)}" if line and not quiet else ""


def tell(words: Sequence[str]) -> None:
    """Say it beside the result, where a person sits at a terminal."""
    if sys.stdout.isatty() and sys.stderr.isatty() and (line := hint(words)):
        print(line, file=sys.stderr)
