"""What to say of a steel that has no card: by its family, its AISI number, else the nearest names."""

import difflib
import re
from collections.abc import Collection

# AISI and SAE numbers end in the carbon content in hundredths of a per cent; plain carbon begins with 10.
_AISI = re.compile(r"(?:AISI|SAE|C)?\s*-?((?:1[0135]|4[013678]|5[01]|61|8[678]|9[234])\d\d)", re.IGNORECASE)
_LOW_CARBON = ("mild", "a36", "s235", "s275", "s355", "12l14", "en1a", "en3", "ck15", "16mncr5")
LEAST_HARDENED, LEAST_FOR_AN_EDGE, LEAST_FOR_A_PLAIN_EDGE = 0.30, 0.50, 0.56
TRY = (
    "an unknown steel is tried on coupons first: `kilnctl steel coupons NAME`; "
    "`kilnctl steel new` writes a card"
)
SHEET = "its mill's sheet has its heats: `kilnctl steel new` writes a card from it"
# What a family is, where a maker names one (common practice and memory; the heats are round figures).
_FAMILIES = (
    (
        r"hss|high.?speed.*|m[1-4]|m3[56]|m42|t1|t15",
        "high-speed steel hardens from about 1180 °C up, hotter than a shop furnace goes, and is tempered "
        f"near 550 °C (from memory); {SHEET}",
    ),
    (
        r"s[157]",
        "a shock-resisting tool steel: S1 hardens from 900-955 °C in oil, S5 from 870-925 °C in oil, S7 from "
        "925-955 °C in still air, for chisels that are struck at 54 to 58 HRC (all from memory of the "
        f"handbook); {SHEET}",
    ),
    (r"s2", f"a shock-resisting tool steel, hardened and tempered by rules of its own; {SHEET}"),
    (
        r"h1[0123]",
        f"a hot-work steel: it hardens in air from 1000 °C, to 56 HRC at most (from memory); {SHEET}",
    ),
    (r"\d\.\d{4}", f"no card here has that material number; {SHEET}"),
    (r"l6", f"near 8670 and 15N20 and neither of them, its temper comes out 2-3 HRC harder; {SHEET}"),
    (
        r"silver.?steel|drill.?rod|ground.?stock",
        "ground bar is sold under that name in several grades, for water and for oil: ask the seller which "
        "it is, and use that card",
    ),
    (
        r"4[0-4]\d(?:[abcf]|hc)?|3\d\d|\d\dc\d\d.*|154.?cm|ats.?34|vg.?\d+|n690.*|x\d+cr.*|s\d\dv.?n?",
        "stainless and powder steels want foil or a gas, plates, and a furnace that goes to its own heat, "
        f"mostly above 1000 °C; no card here is near enough: {SHEET}",
    ),
    (
        r".*(spring|file|rasp|saw|bearing|axle|chain|spike|rebar|reinforc|scrap|chisel|drill|unknown|damascus)"
        r".*|tool.?steel|steel|carbon.?steel",
        "that names an article, not a grade; what is not written on the bar nobody knows; " + TRY,
    ),
    (
        r".*(wrought|iron|nickel|copper|brass|bronze|titanium|alumin).*",
        "it does not harden by a quench; the jacket of a laminate may be of it: `cladding` in the recipe",
    ),
)


def say_no_card(name: str, grades: Collection[str], sister: str | None = None) -> str:
    """Return what is known of a grade without a card, and what can be done."""
    if sister is not None:
        return f'no steel "{name}": {sister} is its sister grade, near and not the same; {SHEET}'
    family = next((said for known, said in _FAMILIES if re.fullmatch(known, name.strip().casefold())), None)
    carbon = carbon_of(name)
    if carbon is not None or family is None:
        return _by_carbon(name, carbon) if carbon is not None else _by_nearest(name, grades)
    return f'no steel "{name}": {family}'


def _by_carbon(name: str, carbon: float) -> str:
    if carbon < LEAST_HARDENED:
        return (
            f'no steel "{name}": low-carbon steel does not harden through in any quench. Carburising (case '
            "hardening) is not planned here: it needs a carbon pack or gas, and a maker of its own"
        )
    plain = name.strip()[-4:].startswith("10")
    if plain and carbon >= LEAST_FOR_A_PLAIN_EDGE:
        use = f"; `kilnctl figure hardness 200C 2h --carbon {carbon:g}` tells its temper"
    elif carbon >= LEAST_FOR_AN_EDGE:
        use = "; a steel for springs and tough blades, softer than a fine edge wants"
    else:
        use = "; it is a steel for shafts and hammers, an edge of it stays soft"
    return f'no steel "{name}": by its number about {carbon:g} % carbon{use}; {TRY}'


def _by_nearest(name: str, grades: Collection[str]) -> str:
    lowered = {grade.casefold(): grade for grade in grades}
    near = difflib.get_close_matches(name.casefold(), lowered, n=3, cutoff=0.5)
    named = ", ".join(lowered[n] for n in near)
    nearest = "the nearest card is" if len(near) == 1 else "the nearest cards are"
    which = f"{nearest} {named}" if near else "`kilnctl steel list` shows the cards"
    return f'no steel "{name}"; {which}; {TRY}'


def carbon_of(name: str) -> float | None:
    """Return the carbon content that a name tells, in per cent: of an AISI number; 0.1 for mild steel."""
    if any(known in name.casefold() for known in _LOW_CARBON):
        return 0.1
    match = _AISI.fullmatch(name.strip())
    return int(match[1][-2:]) / 100.0 if match else None
