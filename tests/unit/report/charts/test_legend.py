"""Names above a chart: as many beside each other as there is room for."""

from matplotlib.figure import Figure

from kilnctl.report.charts import legend

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
