"""What a hardness test says: an interval from a file set, a mean from a tester, corrected by its block.

A block corrects in its own scale, as ISO 6507-2 and ASTM E18 verify each scale by its own blocks: an error
in HV or HBW is a share of the reading, one in Rockwell a difference.
"""

from collections.abc import Sequence

from kilnctl.errors import ConfigError, ProfileError
from kilnctl.logbook.entries import Hardness
from kilnctl.treatment.steel.hardness_on_rounds import round_correction
from kilnctl.treatment.steel.hardness_scales import CONVERSION_HRC, Scale, to_hrc
from kilnctl.units import say_mm

SKATES, CUTS = "skates", "cuts"
MOST_OUT_HRC = 5.0
SCALE_WARNING = (
    "not on bare metal: a file skates on scale, and a soft skin tests soft; grind clean and repeat"
)


def by_files(
    part: str, files: Sequence[tuple[float, str]], bare_metal: bool, run: int | None = None, who: str = ""
) -> Hardness:
    """Return what files of known hardness say: harder than each that skates, softer than each that cuts.

    Raises ConfigError for an unknown word. Contradictory results give an open interval and say so.
    """
    if not files:
        raise ConfigError('say what at least one file did, like "55 skates"')
    for hrc, word in files:
        if word not in (SKATES, CUTS):
            raise ConfigError(f'file {hrc:g}: "{word}" is neither "{SKATES}" nor "{CUTS}"')
    low = max((hrc for hrc, word in files if word == SKATES), default=None)
    high = min((hrc for hrc, word in files if word == CUTS), default=None)
    if low is not None and high is not None and low >= high:
        words = f"contradictory: the {low:g} file skates but the {high:g} file cuts; retest"
        low = high = None
    elif low is not None and high is not None:
        words = f"{low:g}–{high:g} HRC"
    else:
        words = f"above {low:g} HRC" if low is not None else f"below {high:g} HRC"
    return Hardness(
        part=part,
        method="files",
        low_hrc=low,
        high_hrc=high,
        words=_with_skin(words, bare_metal),
        files=tuple(files),
        bare_metal=bare_metal,
        run=run,
        who=who,
    )


def by_tester(
    part: str,
    readings: Sequence[float],
    block: tuple[float, float] | None,
    bare_metal: bool,
    run: int | None = None,
    who: str = "",
    scale: Scale = "HRC",
    diameter_mm: float | None = None,
) -> Hardness:
    """Return what a tester says. `block` is (stated, read) of a test block: its error is taken off the mean.

    Readings and block are in `scale`. `diameter_mm` is that of a round, None for a flat. Raises ConfigError
    without a reading, outside a table, or when the block is off by more than 5 HRC.
    """
    if not readings:
        raise ConfigError("a tester needs at least one reading")
    if block is not None:
        out_hrc = _hrc(block[1], scale) - _hrc(block[0], scale)
        if abs(out_hrc) > MOST_OUT_HRC:
            raise ConfigError(f"the tester reads its block {out_hrc:+.1f} HRC off: have it adjusted first")
    mean, low, high = sum(readings) / len(readings), min(readings), max(readings)
    words = f"mean {_say(mean, scale)} {scale} of {len(readings)} ({_say(low, scale)}–{_say(high, scale)})"
    true, low, high = (
        _flat(_corrected(read, block, scale), scale, diameter_mm) for read in (mean, low, high)
    )
    unit = "" if scale == "HRC" else f" {scale}"
    by_block = _corrected(mean, block, scale)
    words += f", block-corrected {_say(by_block, scale)}{unit}" if block else ", no test block"
    if diameter_mm is not None:
        words += f", on a round of {say_mm(diameter_mm)} {_say(true, scale)}{unit} by ASTM E18"
    if scale != "HRC":
        words += f": {_hrc(true, scale):.0f} HRC by ASTM E140, good to ±{CONVERSION_HRC:g} HRC"
    return Hardness(
        part=part,
        method="tester",
        low_hrc=round(_hrc(low, scale), 2),
        high_hrc=round(_hrc(high, scale), 2),
        words=_with_skin(words, bare_metal),
        readings=tuple(readings),
        block=block,
        bare_metal=bare_metal,
        run=run,
        who=who,
        scale=scale,
    )


def _corrected(reading: float, block: tuple[float, float] | None, scale: Scale) -> float:
    """Return a reading without the error that the tester has on its block, in the same scale."""
    if block is None:
        return reading
    stated, read = block
    return reading * stated / read if scale in ("HV", "HBW") else reading - (read - stated)


def _flat(reading: float, scale: Scale, diameter_mm: float | None) -> float:
    """Return what a reading on a round would be on a flat, in the same scale. Raises ConfigError."""
    try:
        return reading if diameter_mm is None else reading + round_correction(reading, scale, diameter_mm)
    except ProfileError as e:
        raise ConfigError(str(e)) from None


def _hrc(value: float, scale: Scale) -> float:
    try:
        return to_hrc(value, scale)
    except ProfileError as e:
        raise ConfigError(str(e)) from None


def _say(value: float, scale: Scale) -> str:
    return f"{value:.0f}" if scale in ("HV", "HBW") else f"{value:.1f}"


def _with_skin(words: str, bare_metal: bool) -> str:
    return words if bare_metal else f"{words}; {SCALE_WARNING}"
