"""What an instrument shows when a thermocouple is the wrong one, reversed, or extended wrongly.

Emf after the ITS-90 reference functions (NIST Monograph 175) through a library.
"""

from bisect import bisect_right
from functools import cache

from thermocouple_its90 import RangeError, get

CELL_K = 10
LOWEST_SHOWN_C = -270.0
KINDS = ("reversed", "reversed-twice", "copper", "k-as-j", "j-as-k")


def shown_c(kind: str, true_c: float, terminal_c: float, head_c: float) -> float:
    """Return what is shown at a true temperature; interpolated between cells of 10 K.

    `terminal_c` is the instrument's own junction, `head_c` where the extension begins. Below the table
    of the couple the instrument shows its lowest value.
    """
    true, shown = _table(kind, round(terminal_c), round(head_c))
    i = min(max(bisect_right(true, true_c) - 1, 0), len(true) - 2)
    share = (true_c - true[i]) / (true[i + 1] - true[i])
    return shown[i] + share * (shown[i + 1] - shown[i])


@cache
def _table(kind: str, terminal_c: int, head_c: int) -> tuple[list[float], list[float]]:
    top = 1360 if kind != "j-as-k" else 1190
    true = [float(t) for t in range(-50, top, CELL_K)]
    return true, [_exact(kind, t, float(terminal_c), float(head_c)) for t in true]


def _exact(kind: str, true_c: float, terminal_c: float, head_c: float) -> float:
    couple, read_as = {"k-as-j": ("K", "J"), "j-as-k": ("J", "K")}.get(kind, ("K", "K"))
    emf = get(couple).emf
    loop = emf(true_c) - emf(terminal_c)
    if kind == "reversed":
        loop = -loop
    elif kind == "copper":
        loop = emf(true_c) - emf(head_c)
    elif kind == "reversed-twice":
        loop = emf(true_c) - 2 * emf(head_c) + emf(terminal_c)
    try:
        return float(get(read_as).temperature(loop, reference=terminal_c))
    except RangeError:
        return LOWEST_SHOWN_C if loop < 0 else 1372.0
