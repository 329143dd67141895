"""Names above a chart: as many beside each other as there is room for."""

import pytest
from matplotlib.figure import Figure

from kilnctl.report.charts import legend
from kilnctl.report.charts.forecast_series import ForecastSeries
from kilnctl.report.charts.plan_chart import draw_plan

NAMES = ["set-point", "oven", "part, estimated", "asked: goal and band", "oven's limit 260 °C"]


def test_a_wide_chart_has_its_names_in_one_row_and_a_narrow_one_in_several() -> None:
    assert legend.beside_each_other(NAMES, 620.0) == 5
    assert 1 < legend.beside_each_other(NAMES, 280.0) < 5
    assert legend.beside_each_other(NAMES, 50.0) == 1


def test_the_names_of_a_narrow_chart_stay_inside_it() -> None:
    figure = Figure(figsize=(4.3, 5.0), layout="constrained")
    axes = figure.subplots()
    for name in NAMES:
        axes.plot([0, 1], [0, 1], label=name)
    legend.put_above(axes)
    figure.draw_without_rendering()
    box = axes.get_legend().get_window_extent()
    assert box.x0 >= -1.0
    assert box.x1 <= 4.3 * figure.dpi + 1.0


@pytest.mark.parametrize("high_in", [1.4, 2.2, 5.0])
def test_the_names_lie_above_the_numbers_of_the_steps_on_a_low_chart_too(high_in: float) -> None:
    """On the card for the wall the 1 of the first step was printed into "a step may end within this span"."""
    curve = [(0.0, 20.0), (7000.0, 800.0), (9000.0, 800.0)]
    told = ForecastSeries([(at_s, c, c, c) for at_s, c in curve], [(7000.0, 6800.0, 9000.0)], "")
    figure = Figure(figsize=(7.0, high_in))
    axes = figure.add_axes((0.1, 0.3, 0.8, 0.5))
    draw_plan(axes, told)
    figure.draw_without_rendering()
    numbers = [note.get_window_extent() for note in axes.texts]
    names = axes.get_legend().get_window_extent()
    assert numbers
    assert names.y0 >= max(number.y1 for number in numbers)
