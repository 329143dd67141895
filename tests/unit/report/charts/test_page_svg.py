"""A chart in a page is there twice: for a screen, and for a telephone."""

import re

from matplotlib.figure import Figure

from kilnctl.report.charts.page_svg import page_svg


def painted(figure: Figure) -> None:
    figure.subplots().plot([0, 1], [0, 1], marker="X")


def test_both_charts_are_named_and_share_no_part_that_one_of_them_hides() -> None:
    said = page_svg("a < b", painted, (8.6, 4.0), (4.3, 4.0), lambda figure: "<g>over</g>")
    wide, narrow = said.split("</svg>")[:2]
    for kind, one in (("wide", wide), ("narrow", narrow)):
        assert one.startswith(f'<svg class="{kind}" role="img" aria-label="a &lt; b"')
        assert "<title>a &lt; b</title>" in one
    assert "<g>over</g>" in wide
    assert "<g>over</g>" not in narrow
    used = [set(re.findall(r"(?:url\(|href=\")#(\w+)", one)) for one in (wide, narrow)]
    assert used[0]
    assert not used[0] & used[1], "what is defined in a hidden chart is not drawn in the other"
