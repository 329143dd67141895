"""The command that turns a recipe into segments with reasons and times: plan.

What it needs is loaded once its words have been read: `plan --help` loads none of it, and the command line
does not ask a library of checks about each word, as it does where that is loaded.
"""

from pathlib import Path

from kilnctl.cli.terminal.options import Json


def plan(
    recipe: str,
    /,
    *,
    oven: str | None = None,
    out: Path | None = None,
    ready_at: str | None = None,
    chart: Path | None = None,
    card: Path | None = None,
    as_json: Json = False,
) -> int:
    """Show what a recipe becomes: every step with temperature, rate, time, reason and source.

    Parameters
    ----------
    recipe
        A recipe or profile file, or the name of a bundled one.
    oven
        An oven file or name; left out, every oven that the recipe names, in its order.
    out
        Write the profile to this file.
    ready_at
        The clock time (15:00) at which the part should be ready; says when to start.
    chart
        Draw the predicted curve with its band into this file (.png, .svg or .pdf).
    card
        Write the plan as one page for the wall (.pdf or .html), with room for the times.
    as_json
        Print the whole plan as one JSON object.
    """
    from kilnctl.cli.plan.plan_answer import answer

    return answer(recipe, oven, out, ready_at, chart, card, as_json)
