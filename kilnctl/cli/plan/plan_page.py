"""A plan on paper or screen: 80 columns, to be pinned above the anvil."""

from rich.table import Table

from kilnctl.cli.plan.forecast_page import arrival_lines, curve_lines, screen_basis
from kilnctl.cli.terminal.tell import WIDTH
from kilnctl.config.preferences import units_shown
from kilnctl.forecast.band import Forecast
from kilnctl.model.oven_model import OvenModel
from kilnctl.profile.segments import say_goal
from kilnctl.report.layout.text_page import PageConsole
from kilnctl.report.time_words import spoken
from kilnctl.treatment.plan_rows import NOT_THE_SAME, Row
from kilnctl.treatment.planning import Plan
from kilnctl.units import f_from_c, say_duration, say_mm

NOT_LEARNED = "times from the oven's nameplate, not learned: they can be two or three times as long"
LEARNED = "times from what was learned of the oven"


def print_plan(made: Plan, timing: tuple[str, ...] = (), console: PageConsole | None = None) -> None:
    """Print a plan: steps with temperatures, rate, time, why and source; totals; warnings; what to know."""
    out = console or PageConsole(WIDTH)
    sources = list(dict.fromkeys(row.source for row in made.rows if row.source))
    out.print(_title(made), style="bold")
    if made.profile.doubt:
        out.print(f"! {made.profile.doubt}", style="bold")
    if made.profile.parts:
        out.print(f"parts: {', '.join(made.profile.parts)}")
    out.print(_table(made, sources))
    total = f"Total: about {say_duration(made.total_s)} and {made.energy_kwh:.1f} kWh at the rated power"
    out.print(f"{total}; {LEARNED if made.learned else NOT_LEARNED}.")
    for line in timing:
        out.print(line)
    for text in made.warnings:
        out.print(f"! {text}", style="bold")
    for note in made.notes:
        out.print(f"- {note}")
    for text in made.elsewhere:
        out.print(f"Not in this oven: {text}.")
    for n, source in enumerate(sources, 1):
        out.print(f"({n}) {source}")


def print_ahead(ahead: Forecast, made: Plan, model: OvenModel | None) -> None:
    """Print the predicted curve and when each heating arrives, with the band."""
    out = PageConsole(WIDTH)
    out.print()
    for line in (*curve_lines(ahead.points), *arrival_lines(ahead, made.profile)):
        out.print(line)
    out.print(f"{screen_basis(model, made.profile)}.")


def print_others(plans: tuple[Plan, ...]) -> None:
    """Print what the recipe's other ovens do: each is a run of its own, handed over by a person."""
    out = PageConsole(WIDTH)
    for made in plans:
        out.print(f"\nThen in {made.oven} (kilnctl run RECIPE --oven {made.oven}):", style="bold")
        print_plan(made, console=out)


def _title(made: Plan) -> str:
    profile = made.profile
    part = [profile.steel or "", say_mm(profile.section_mm) if profile.section_mm else ""]
    part += [
        profile.shape if profile.shape != "plate" else "",
        profile.surface,
        "with fan" if profile.fan else "",
        "on a hearth" if profile.faces == "one" else "",
    ]
    about = " ".join(word for word in part if word) if profile.steel else ""
    goal = f"goal {say_goal(profile.goal_hrc)}" if profile.goal_hrc else ""
    words = (f"{profile.name} (revision {profile.revision})", about, goal, f"in {made.oven}")
    return " | ".join(word for word in words if word)


def _table(made: Plan, sources: list[str]) -> Table:
    table = Table(width=WIDTH, pad_edge=False, padding=(0, 1, 0, 0))
    table.add_column("", width=2, justify="right")
    table.add_column("step", width=17)
    shown = _scales()
    for scale in shown:
        table.add_column(f"°{scale}", width=4, justify="right")
    table.add_column("\n".join(f"°{scale}/h" for scale in shown), width=4, justify="right")
    table.add_column("takes", width=10, justify="right")
    table.add_column("why (source)")
    told: dict[str, int] = {}
    state = ""
    for row in made.rows:
        leaves = f"\n→ {row.after}" if row.after not in (state, "as delivered") else ""
        table.add_row(*_cells(row, sources, told, leaves), end_section=row.kind in ("cool", "operator"))
        state = row.after
    return table


def _cells(row: Row, sources: list[str], told: dict[str, int], leaves: str) -> list[str]:
    """Return the cells of a row; a text that a row above has already told is named by that row's number.

    `leaves` is what the step makes of the part, where it changes it.
    """
    why = row.say.removesuffix(" Answer done.") or row.why
    first = told.setdefault(NOT_THE_SAME.sub("", why), row.index)
    if first != row.index:
        why = f"as step {first + 1}"
    cited = f" ({sources.index(row.source) + 1})" if row.source and first == row.index else ""
    warning = f"\n! {row.warning}" if row.warning else ""
    cells = (
        str(row.index + 1),
        row.label or row.kind,
        *_heat_cells(row),
        _takes(row),
        f"{why}{cited}{leaves}{warning}",
    )
    return list(cells)


def _scales() -> tuple[str, ...]:
    """Return the scales that the person wants to see."""
    units = units_shown()
    return ("C", "F") if units == "both" else (units,)


def _heat_cells(row: Row) -> tuple[str, ...]:
    """Return goal and rate of a step, in each scale that is shown."""
    shown = _scales()
    goal_c, rate = row.goal_c, row.rate_c_per_h
    goals = tuple("" if goal_c is None else f"{goal_c if s == 'C' else f_from_c(goal_c):.0f}" for s in shown)
    rates = [] if rate is None else [f"{rate if s == 'C' else rate * 1.8:.0f}" for s in shown]
    return (*goals, "\n".join(rates))


def _takes(row: Row) -> str:
    """Return the time of a step: a person's longest wait, or the forecast."""
    if row.kind == "operator" and row.at_most_s is not None:
        return f"≤ {spoken(row.at_most_s)}"
    return spoken(row.duration_s)
