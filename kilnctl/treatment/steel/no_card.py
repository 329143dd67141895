"""What to say of a steel that has no card: by its AISI number, else the nearest names."""

import difflib
import re
from collections.abc import Collection

# AISI and SAE numbers end in the carbon content in hundredths of a per cent; plain carbon begins with 10.
_AISI = re.compile(r"(?:AISI|SAE|C)?\s*-?((?:1[0135]|4[013678]|5[01]|61|8[678]|9[234])\d\d)", re.IGNORECASE)
_LOW_CARBON = ("mild", "a36", "s235", "s275", "s355", "12l14", "en1a", "en3", "ck15", "16mncr5")
LEAST_HARDENED, LEAST_FOR_AN_EDGE = 0.30, 0.56
TRY = (
    "an unknown steel is tried on coupons first: `kilnctl steel coupons NAME`; "
    "`kilnctl steel new` writes a card"
)


def say_no_card(name: str, grades: Collection[str]) -> str:
    """Return what is known of a grade without a card, and what can be done."""
    lowered = {grade.casefold(): grade for grade in grades}
    carbon = carbon_of(name)
    if carbon is not None and carbon < LEAST_HARDENED:
        return (
            f'no steel "{name}": low-carbon steel does not harden through in any quench. Carburising (case '
            "hardening) is not planned here: it needs a carbon pack or gas, and a maker of its own"
        )
    if carbon is not None:
        edge = (
            f"; `kilnctl figure hardness 200C 2h --carbon {carbon:g}` tells its temper"
            if carbon >= LEAST_FOR_AN_EDGE and name.strip()[-4:].startswith("10")
            else "; it is a steel for shafts and hammers, an edge of it stays soft"
        )
        return f'no steel "{name}": by its number about {carbon:g} % carbon{edge * (carbon < 1.2)}; {TRY}'
    near = difflib.get_close_matches(name.casefold(), lowered, n=3, cutoff=0.4) or sorted(lowered)
    return f'no steel "{name}"; the nearest cards are: {", ".join(lowered[n] for n in near)}; {TRY}'


def carbon_of(name: str) -> float | None:
    """Return the carbon content that a name tells, in per cent: of an AISI number; 0.1 for mild steel."""
    if any(known in name.casefold() for known in _LOW_CARBON):
        return 0.1
    match = _AISI.fullmatch(name.strip())
    return int(match[1][-2:]) / 100.0 if match else None
