"""The front door: `off` before anything else, then the other commands, each loaded only when it is asked for.

Errors become one line and an exit code here and nowhere else.
"""

import sys
from collections.abc import Sequence
from importlib import import_module
from typing import TYPE_CHECKING

import kilnctl
from kilnctl.cli.heat import off_seen

if TYPE_CHECKING:
    from cyclopts import App

# Group: {name: (where it lives, its line in the list of commands)}. The order is the order of the list.
GROUPS = {
    "Begin": {
        "demo": ("kilnctl.cli.oven.demo:demo", "Show a whole heat on a simulated oven, in a few minutes."),
        "guide": ("kilnctl.cli.plan.guide:guide", "Read the user's guide, or ask it in your own words."),
        "completion": (
            "kilnctl.cli.plan.completion:completion",
            "Let your shell complete commands and options with Tab.",
        ),
    },
    "Plan a heat": {
        "steel": (
            "kilnctl.cli.plan.steel.steel:steel",
            "Show, write and check steel cards; try an unknown steel.",
        ),
        "recipe": (
            "kilnctl.cli.plan.recipe:recipe",
            "List, copy and check recipes; write one by answering questions.",
        ),
        "plan": (
            "kilnctl.cli.plan.plan:plan",
            "Turn a recipe into steps, with reasons and predicted times.",
        ),
        "dry-run": (
            "kilnctl.cli.plan.dry_run:dry_run",
            "Rehearse a job on a modelled oven, in virtual time.",
        ),
        "prove": ("kilnctl.cli.plan.prove:prove", "Try a job against many faults on a modelled oven."),
        "figure": (
            "kilnctl.cli.figure:figure",
            "Answer a bench question: temper, soak, quench, sensor, oven.",
        ),
    },
    "Heat": {
        "run": ("kilnctl.cli.heat.run:run", "Run a job on an oven: the real thing."),
        "off": ("kilnctl.cli.heat.off:off", "Heat off at once, confirmed."),
        "answer": (
            "kilnctl.cli.heat.answer:answer",
            "Answer the operator step that waits: done, wait or abort.",
        ),
        "adjust": ("kilnctl.cli.heat.adjust:adjust", "Change a running heat within its checked plan."),
        "reset": ("kilnctl.cli.heat.reset:reset", "Clear a latched trip, at the oven, with a note."),
    },
    "Watch": {
        "status": ("kilnctl.cli.watch.status:status", "Show what every oven is doing."),
        "watch": ("kilnctl.cli.watch.watch:watch", "Open the live screen."),
        "acknowledge": ("kilnctl.cli.watch.acknowledge:acknowledge", "Acknowledge the alarms."),
        "shelve": (
            "kilnctl.cli.watch.shelve:shelve",
            "Shelve a standing alarm for a while; never a trip.",
        ),
        "messages": (
            "kilnctl.cli.watch.messages:messages",
            "Show and test the alert channels.",
        ),
    },
    "Record": {
        "runs": ("kilnctl.cli.record.runs:runs", "List the runs of the logbook, and what is due."),
        "part": ("kilnctl.cli.record.part:part", "Tell a part's story; keep its tests, bows and notes."),
        "compare": ("kilnctl.cli.record.runs:compare", "Compare runs side by side."),
        "export": (
            "kilnctl.cli.record.runs:export",
            "Write a run to a file: csv, json, html, png, svg or pdf.",
        ),
        "import": ("kilnctl.cli.record.runs:import_", "Read an exported run, or a backup, into the logbook."),
        "verify": ("kilnctl.cli.record.runs:verify", "Check that a record is complete and unchanged."),
    },
    "Oven": {
        "oven": (
            "kilnctl.cli.oven.oven_file:oven",
            "List oven files, write one by asking, see what one can do.",
        ),
        "commission": (
            "kilnctl.cli.oven.commission:commission",
            "Walk through the set-up of an oven, step by step.",
        ),
        "tune": ("kilnctl.cli.oven.tune:tune", "Learn how an oven heats, and its control settings."),
        "care": (
            "kilnctl.cli.oven.care:care",
            "Calibrate, survey and look after an oven; what is due for it.",
        ),
        "simulate": (
            "kilnctl.cli.oven.simulate:simulate",
            "Run a virtual oven on a virtual serial port.",
        ),
    },
}
# Typed word for word while a heat runs: these need not wait for the library that reads command lines.
PLAIN = {
    ("status",),
    ("watch",),
    ("acknowledge",),
    *(("answer", reply) for reply in ("done", "wait", "abort")),
}
# These heat nothing and may run what is compiled, where it is.
REHEARSE = ("dry-run", "prove")
COMMANDS = {name: entry for group in GROUPS.values() for name, entry in group.items()}


def main() -> None:
    """Run the command of this process's arguments and leave with its exit code."""
    if not all(stream.encoding == "utf-8" for stream in (sys.stdout, sys.stderr)):
        from kilnctl.letters import spare_the_terminal

        spare_the_terminal()
    sys.exit(run(sys.argv[1:]))


def run(words: Sequence[str]) -> int:
    """Run one command line and return its exit code. Raises nothing."""
    try:
        if words and words[0] == "off":
            return _off(words)
        if words and words[0] in off_seen.HEATS:
            off_seen.remember()
        elif words and words[0] in REHEARSE:
            from kilnctl.rehearsal import compiled

            compiled.use()
        return _others(words)
    except BaseException as error:
        from kilnctl.cli.terminal.exit_codes import ended_by

        return ended_by(error)


def _off(words: Sequence[str]) -> int:
    """Cut the heat without loading the command line library; anything odd in the words still cuts it."""
    if "--help" in words or "-h" in words:
        return _others(words)
    from kilnctl.cli.heat.off import off, oven_in

    return _hinted(words, off(oven=oven_in(words[1:])))


def _others(words: Sequence[str]) -> int:
    words = [" ".join(word.splitlines()) for word in words]  # whatever is typed, an error is one line
    if not words or words[0] in ("--help", "-h"):
        print(page())
        return 0
    if words[0] == "--version":
        print(kilnctl.__version__)
        return 0
    if words[0] not in COMMANDS:
        from kilnctl.cli.terminal.exit_codes import no_such_command

        return no_such_command(words[0], COMMANDS)
    if tuple(words) in PLAIN:
        return _plain(words)
    result = app()(list(words), exit_on_error=False, print_error=False, result_action="return_value")
    if result is None:
        _add_example(words)
    return _hinted(words, result)


def _add_example(words: Sequence[str]) -> None:
    """Print an example below the help of a command, where help was asked for."""
    from kilnctl.cli.terminal.examples import below_help

    if line := below_help(words):
        print(line)


def _hinted(words: Sequence[str], result: object) -> int:
    """Return the exit code of a command that has ended, after a person was told what comes next."""
    from kilnctl.cli.terminal import hints

    code = result if isinstance(result, int) else 0
    hints.tell(words, code)
    return code


def _plain(words: Sequence[str]) -> int:
    module, _, name = COMMANDS[words[0]][0].partition(":")
    return _hinted(words, getattr(import_module(module), name)(*words[1:]))


def page() -> str:
    """Return the list of commands. It is drawn from one-liners here, so that it loads nothing."""
    width = max(map(len, COMMANDS))
    lines = ["kilnctl COMMAND: plan, rehearse, run and record heat treatment of small parts."]
    lines += ["It is not a safety device: fit and test an independent over-temperature limit."]
    for title, commands in GROUPS.items():
        lines += ["", title]
        lines += [f"  {name:<{width}}  {line}" for name, (_, line) in commands.items()]
    return "\n".join([*lines, "", "`kilnctl COMMAND --help` shows what a command takes."])


def app() -> "App":
    """Return the command line: every command by where it lives, loaded when it is asked for."""
    from cyclopts import App, Parameter

    from kilnctl.cli.terminal.options import as_typed, shown_default

    # No option has a "--no-" beside it, and no number is another one than was typed.
    usual = Parameter(negative="", converter=as_typed, show_default=shown_default)
    front = App(
        name="kilnctl",
        version=kilnctl.__version__,
        suppress_keyboard_interrupt=False,
        default_parameter=usual,
    )
    for name, (where, _) in COMMANDS.items():
        front.command(where, name=name)
    return front


if __name__ == "__main__":
    main()
