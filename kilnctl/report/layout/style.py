"""How everything on paper is drawn: one font, one size, thin axes; the same heat gives the same file."""

from typing import Any

FAMILY = "DejaVu Sans"
TYPE_PT = 9.0
RED = "#a01010"  # of what is not as it must be
UNDATED: dict[str, Any] = {"svg": {"Date": None}, "pdf": {"CreationDate": None}}
STYLE: Any = {
    "svg.fonttype": "none",
    "svg.hashsalt": "kilnctl",
    "pdf.fonttype": 42,
    "font.family": FAMILY,
    "font.size": TYPE_PT,
    "axes.linewidth": 0.6,
    "axes.spines.top": False,
}
