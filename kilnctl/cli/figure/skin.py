"""How much soft skin and scale a bare heat leaves, and how much to grind off: figure skin."""

from kilnctl.cli.figure.figure_answer import FigureAnswer, show
from kilnctl.cli.figure.inputs import Quantity, heat_c, maybe_metal, time_s
from kilnctl.cli.terminal.options import Json
from kilnctl.errors import UnitError
from kilnctl.units import say_duration, say_point

USUAL_CARBON = 0.8
# The deepest soft skin that was measured on bare D2 and hot-work steel (university thesis).
MEASURED_MM = 0.45
SCALES = ("high alloy", "stainless")
WORST = "air that takes all the carbon, the worst case; softer is below"
LESS = "A coating, foil or a reducing atmosphere leaves less: grind until the file skates"
MOST = "; the most is what was measured"
DISSOLVED = "as if all of its carbon were dissolved: more than was measured"
CHROMIUM = (
    "a grade for foil or a coating: bare it scales as well",
    "much of its carbon sits in carbides and less comes out than by diffusion alone: up to "
    f"{MEASURED_MM:g} mm was measured (university thesis on D2 and hot-work steel)",
)


def skin(
    temperature: Quantity,
    time: Quantity,
    /,
    *,
    steel: str | None = None,
    carbon: float | None = None,
    as_json: Json = False,
) -> int:
    """Estimate how deep a bare part loses carbon at heat, what scale takes, and how much to grind off.

    Parameters
    ----------
    temperature
        The temperature that the part is held at.
    time
        How long the part is at it, all its bare heats together.
    steel
        A grade.
    carbon
        Its carbon in per cent, where there is no card; left out, 0.8.
    as_json
        Print one JSON object.
    """
    from kilnctl.treatment.steel.soft_skin import (
        AUSTENITE_FROM_C,
        FULLY_HARD_PERCENT_C,
        SCALE_SOURCE,
        TOUCHED,
        lost_mm,
        scale_mm,
        skin_mm,
    )

    at_c, hot_s = heat_c(temperature), time_s(time)
    if at_c < AUSTENITE_FROM_C:
        raise UnitError(
            f"{at_c:.0f} C lies below {AUSTENITE_FROM_C:.0f} C, where a bare part loses little carbon: "
            "only its scale comes off"
        )
    card, named, words = maybe_metal(steel, carbon)
    percent = USUAL_CARBON if named is None else named
    soft = skin_mm(at_c, hot_s, percent, min(TOUCHED, FULLY_HARD_PERCENT_C / percent))
    touched = skin_mm(at_c, hot_s, percent, TOUCHED)
    lost = lost_mm(at_c, hot_s)
    high = card is not None and card.kind in SCALES
    grind, grind_rows = _grind(soft, touched, high)
    return show(
        FigureAnswer(
            asked=f"{words or f'{percent:g} % C'}, bare in air, {say_duration(hot_s)} at {say_point(at_c)}:",
            rows=(
                ("softer to", _depth(*soft)),
                *grind_rows,
                ("scale", f"to {scale_mm(at_c, hot_s):.2f} mm thick; it takes {_depth(*lost)} off each face"),
            ),
            source=(
                "diffusion to a surface without carbon: Callister (table 5.2) for the less, Agren 1986 for "
                f"the more; {SCALE_SOURCE}"
            ),
            assumed=f"{WORST} {FULLY_HARD_PERCENT_C:g} % C. {LESS}",
            data={
                **_ends("softer", soft),
                **_ends("grind", grind),
                **_ends("diffusion", touched),
                "scale_mm": scale_mm(at_c, hot_s),
                **_ends("lost", lost),
            },
            beware=CHROMIUM if high else (),
        ),
        as_json,
    )


def _grind(
    soft: tuple[float, float], touched: tuple[float, float], high: bool
) -> tuple[tuple[float, float], tuple[tuple[str, str], ...]]:
    """Return how much to grind off, mm, and its rows: what was measured leads on a grade with much chromium.

    Past what was measured the longer heat rules, and nothing is cut down.
    """
    if not (high and soft[1] <= MEASURED_MM < touched[1]):
        return touched, (("grind off", f"{_depth(*touched)} from each face, and the scale"),)
    grind = soft[1], MEASURED_MM
    return grind, (
        ("grind off", f"{_depth(*grind)} from each face, and the scale{MOST}"),
        ("by diffusion", f"{_depth(*touched)}, {DISSOLVED}"),
    )


def _ends(name: str, span_mm: tuple[float, float]) -> dict[str, float]:
    return {f"{name}_low_mm": span_mm[0], f"{name}_high_mm": span_mm[1]}


def _depth(low_mm: float, high_mm: float) -> str:
    """Return a depth in both units: "0.09-0.16 mm (0.004-0.006 in)"."""
    return f"{low_mm:.2f}-{high_mm:.2f} mm ({low_mm / 25.4:.3f}-{high_mm / 25.4:.3f} in)"
