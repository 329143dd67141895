"""The names of a chart's lines, above it: as many beside each other as the paper is wide."""

from typing import Any

from matplotlib.transforms import ScaledTranslation

from kilnctl.report.layout.style import TYPE_PT
from kilnctl.report.layout.type_setting import width_pt

MOST = 5  # names beside each other, where the paper is wide enough
AXES_SHARE = 0.89  # of the width that a legend may fill: it may begin below the scale
HANDLE_PT = 34.5  # of a name: its line and the room around it
ABOVE_PT = 3.0 + 1.5 * TYPE_PT  # the steps' numbers stand between, on a low chart too


def put_above(axes: Any) -> None:
    """Put the names of the lines above a chart."""
    handles, labels = axes.get_legend_handles_labels()
    if not handles:
        return
    beside = beside_each_other(labels, wide_pt(axes) / AXES_SHARE)
    # The library fills its columns from above; people read rows.
    by_rows = [i for column in range(beside) for i in range(column, len(handles), beside)]
    lifted = axes.transAxes + ScaledTranslation(0.0, ABOVE_PT / 72.0, axes.figure.dpi_scale_trans)
    axes.legend(
        [handles[i] for i in by_rows],
        [labels[i] for i in by_rows],
        loc="lower left",
        bbox_to_anchor=(-0.03, 1.0),
        bbox_transform=lifted,
        ncols=beside,
        frameon=False,
        borderpad=0.0,
        columnspacing=1.2,
        handlelength=1.8,
    )


def beside_each_other(labels: list[str], wide_pt: float) -> int:
    """Return how many names of a legend fit beside each other in columns."""
    wide = [width_pt(label, TYPE_PT) + HANDLE_PT for label in labels]
    fits = (n for n in range(MOST, 1, -1) if sum(max(wide[i::n], default=0.0) for i in range(n)) <= wide_pt)
    return next(fits, 1)


def wide_pt(axes: Any) -> float:
    """Return how wide axes are on paper, in points."""
    return float(axes.get_position().width * axes.figure.get_size_inches()[0] * 72.0)
