"""A plan on paper or screen: 80 columns, everything in one place."""

from rich.console import Console
from rich.table import Table

from kilnctl.treatment.planning import Plan, Row
from kilnctl.units import f_from_c, say_duration

WIDTH = 80


def print_plan(made: Plan, console: Console | None = None) -> None:
    """Print a plan: steps with temperature in both units, rate, time, why and source; totals; warnings."""
    out = console or Console(width=WIDTH, highlight=False)
    profile = made.profile
    part = [profile.steel or "", f"{profile.section_mm:g} mm" if profile.section_mm else "", profile.surface]
    goal = f", goal {profile.goal_hrc[0]:g}-{profile.goal_hrc[1]:g} HRC" if profile.goal_hrc else ""
    out.print(f"[bold]{profile.name}[/]  {' '.join(word for word in part if word)}{goal}  in {made.oven}")
    sources = list(dict.fromkeys(row.source for row in made.rows if row.source))
    out.print(_table(made, sources))
    model = "learned" if made.learned else "from its nameplate, not learned: expect half as much again"
    out.print(f"All together about {say_duration(made.total_s)}, {made.energy_kwh:.1f} kWh (oven {model}).")
    for text in made.warnings:
        out.print(f"[bold]! {text}[/]", markup=True)
    for text in made.elsewhere:
        out.print(f"Not in this oven: {text}")
    for n, source in enumerate(sources, 1):
        out.print(f"({n}) {source}", markup=False)


def _table(made: Plan, sources: list[str]) -> Table:
    table = Table(width=WIDTH, pad_edge=False, padding=(0, 1, 0, 0))
    table.add_column("", width=2, justify="right")
    table.add_column("step", width=17)
    table.add_column("°C", width=4, justify="right")
    table.add_column("°F", width=4, justify="right")
    table.add_column("rate\n°C/h", width=4, justify="right")
    table.add_column("takes", width=8, justify="right")
    table.add_column("why (source)")
    for row in made.rows:
        table.add_row(*_cells(row, sources), end_section=row.kind in ("cool", "operator"))
    return table


def _cells(row: Row, sources: list[str]) -> list[str]:
    why = row.say or row.why
    cited = f" ({sources.index(row.source) + 1})" if row.source else ""
    warning = f"\n! {row.warning}" if row.warning else ""
    takes = say_duration(row.duration_s)
    if row.kind == "operator":
        takes = "you" if row.at_most_s is None else f"≤ {say_duration(row.at_most_s)}"
    return [
        str(row.index + 1),
        row.label or row.kind,
        "" if row.goal_c is None else f"{row.goal_c:.0f}",
        "" if row.goal_c is None else f"{f_from_c(row.goal_c):.0f}",
        "" if row.rate_c_per_h is None else f"{row.rate_c_per_h:.0f}",
        takes,
        f"{why}{cited}{warning}",
    ]
