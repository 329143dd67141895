"""A hardness in the scale of another tester: figure scale."""

from kilnctl.cli.figure.figure_answer import FigureAnswer, show
from kilnctl.cli.figure.inputs import Quantity
from kilnctl.cli.terminal.options import Json

PLACES = {"HRA": 1}


def scale(hardness: Quantity, /, *, as_json: Json = False) -> int:
    """Convert a hardness to the scales of other testers.

    Parameters
    ----------
    hardness
        A number with its scale: 60HRC, 700HV, 341HB, 81HRA, 95HRB.
    as_json
        Print one JSON object.
    """
    from kilnctl.treatment.steel.hardness_scales import SOURCE, in_every_scale, parse_hardness

    written = parse_hardness(hardness)
    ends = [in_every_scale(value, written.scale) for value in (written.low, written.high)]
    names = [name for name in ends[0] if name in ends[1] and name != written.scale]
    rows = tuple((name, _span(ends[0][name], ends[1][name], PLACES.get(name, 0))) for name in names)
    soft = ("too soft for HRC, which begins at 20: annealed, normalised or never hardened",)
    return show(
        FigureAnswer(
            asked=f"{written.words} is about:",
            rows=rows,
            source=SOURCE,
            assumed="the same all through, no soft skin and no case; a conversion is good to about 1 HRC",
            data={
                name.lower(): [end[name] for end in ends]
                for name in ("HRC", "HV", "HBW", "HRA", "HRB")
                if name in ends[0] and name in ends[1]
            },
            beware=soft if written.scale == "HRB" else (),
        ),
        as_json,
    )


def _span(low: float, high: float, places: int) -> str:
    first, last = f"{low:.{places}f}", f"{high:.{places}f}"
    return first if first == last else f"{first}-{last}"
