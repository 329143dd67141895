"""The plan of a heat on one page, large enough to be read at the anvil, with room to write the times in."""

from kilnctl.report.charts.forecast_series import ForecastSeries
from kilnctl.report.charts.page_svg import page_svg
from kilnctl.report.charts.plan_chart import draw_plan
from kilnctl.report.layout.document import Block, Chart, Document, Heading, Paragraphs, Table, Warned
from kilnctl.report.time_words import spoken
from kilnctl.report.treatment_words import treatment
from kilnctl.report.workshop import Workshop
from kilnctl.treatment.plan_rows import NOT_THE_SAME, Row
from kilnctl.treatment.planning import Plan
from kilnctl.units import f_from_c, say_mm

HEAD = ("", "step", "°C", "°F", "takes about", "done at")
WIDTHS = (4.0, 44.0, 8.0, 9.0, 20.0, 20.0)
CAUTION = "The independent limit, the isolator and a person who is awake come before everything on this card."
WIDE_IN, NARROW_IN = (8.6, 3.2), (4.3, 3.6)


def plan_card(made: Plan, told: ForecastSeries, timing: tuple[str, ...], shop: Workshop) -> Document:
    """Return a plan as a card: the steps with what hands do, what to know before, the predicted curve."""
    profile = made.profile
    title = " · ".join(word for word in (profile.name, profile.steel or "") if word)
    done = treatment(profile)
    section = f" · {say_mm(profile.section_mm)}, {profile.surface}" if profile.section_mm is not None else ""
    below = f"Planned: {done}{section} · {made.oven} · about {spoken(made.total_s)} in all"
    firsts = _firsts(made.rows)
    rows = tuple(_row(row, firsts[row.index]) for row in made.rows)
    blocks: tuple[Block, ...] = (
        Heading(title, below, shop.words, shop.mark),
        *_warned(made.warnings),
        Table("Steps", HEAD, rows, WIDTHS, (2, 3), ruled=True, below=_hands(made.rows)),
        Paragraphs(
            "When", (*map(_plain, timing), *(f"Not in this oven: {text}." for text in made.elsewhere))
        ),
        Chart(lambda axes, _: draw_plan(axes, told), lambda: _svg(told), one=True, high_pt=155.0),
        Paragraphs("", (f"{_plain(told.basis)}.", CAUTION), small=True),
    )
    return Document(
        f"Card: {profile.name}", blocks, f"{profile.name}, revision {profile.revision}", 10.0, True
    )


def _warned(warnings: tuple[str, ...]) -> tuple[Warned, ...]:
    """Return what to know before, each by itself: run together, nobody reads them."""
    each = tuple(Warned(f"{n}:", _plain(text)) for n, text in enumerate(warnings, 1))
    return (Warned("Before you start:"), *each) if each else ()


def _hands(rows: tuple[Row, ...]) -> tuple[str, ...]:
    """Return what hands do in each step, once: the like of it is named by the number of its first step."""
    firsts = _firsts(rows)
    return tuple(_do(row) if firsts[row.index] == row.index else "" for row in rows)


def _firsts(rows: tuple[Row, ...]) -> dict[int, int]:
    """Return for each step the first one that asks the same of the hands."""
    told: dict[str, int] = {}
    return {
        row.index: told.setdefault(NOT_THE_SAME.sub("", _do(row)), row.index) if row.say else row.index
        for row in rows
    }


def _do(row: Row) -> str:
    return _plain(row.say.removesuffix(" Answer done."))


def _plain(text: str) -> str:
    """Return words for paper: the marks around a command are for a screen."""
    return text.replace("`", "")


def _row(row: Row, first: int) -> tuple[str, ...]:
    like = "" if first == row.index else f" (as step {first + 1})"
    return (
        str(row.index + 1),
        f"{row.label or row.kind}{like}",
        "" if row.goal_c is None else f"{row.goal_c:.0f}",
        "" if row.goal_c is None else f"{f_from_c(row.goal_c):.0f}",
        _takes(row),
        "",
    )


def _takes(row: Row) -> str:
    if row.kind == "operator" and row.at_most_s is not None:
        return f"at most {spoken(row.at_most_s)}"
    return spoken(row.soak_s) if row.soak_s is not None else spoken(row.duration_s)


def _svg(told: ForecastSeries) -> str:
    name = "The predicted curve of this plan; the table of steps has the numbers"
    return page_svg(name, lambda figure: draw_plan(figure.subplots(), told), WIDE_IN, NARROW_IN)
