"""What a hardness test says: an interval from a file set, a mean from a tester, corrected by its block."""

from collections.abc import Sequence

from kilnctl.errors import ConfigError
from kilnctl.logbook.entries import Hardness

SKATES, CUTS = "skates", "cuts"
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
) -> Hardness:
    """Return what a tester says. `block` is (stated, read) of a test block: its error is taken off the mean.

    Raises ConfigError without a reading, or when the block is off by more than 5 HRC.
    """
    if not readings:
        raise ConfigError("a tester needs at least one reading")
    error = 0.0 if block is None else block[1] - block[0]
    if abs(error) > 5.0:
        raise ConfigError(f"the tester reads its block {error:+.1f} HRC out: have it adjusted first")
    mean = sum(readings) / len(readings)
    words = f"mean {mean:.1f} HRC of {len(readings)} ({min(readings):.1f}–{max(readings):.1f})"
    words += f", block-corrected {mean - error:.1f}" if block else ", no test block"
    return Hardness(
        part=part,
        method="tester",
        low_hrc=round(min(readings) - error, 2),
        high_hrc=round(max(readings) - error, 2),
        words=_with_skin(words, bare_metal),
        readings=tuple(readings),
        block=block,
        bare_metal=bare_metal,
        run=run,
        who=who,
    )


def _with_skin(words: str, bare_metal: bool) -> str:
    return words if bare_metal else f"{words}; {SCALE_WARNING}"
