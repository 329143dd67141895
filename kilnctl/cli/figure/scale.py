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
    from kilnctl.treatment.steel.hardness_scales import SOURCE, in_every_scale, parse_hardness, thinnest_mm

    written = parse_hardness(hardness)
    ends = [in_every_scale(value, written.scale) for value in (written.low, written.high)]
    names = [name for name in ends[0] if name in ends[1] and name != written.scale]
    rows: tuple[tuple[str, str], ...] = tuple(
        (name, _span(ends[0][name], ends[1][name], PLACES.get(name, 0))) for name in names
    )
    if "HRC" in ends[0]:
        rows += (("thinnest", _thinnest(thinnest_mm(ends[0]["HRC"]))),)
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
            beware=() if "HRC" in ends[0] else soft,
        ),
        as_json,
    )


def _thinnest(mm: float) -> str:
    return f"{mm:.2f} mm ({mm / 25.4:.3f} in) for a tester in HRC (ASTM E18); thinner parts in HRA or HV"


def _span(low: float, high: float, places: int) -> str:
    first, last = f"{low:.{places}f}", f"{high:.{places}f}"
    return first if first == last else f"{first}-{last}"
