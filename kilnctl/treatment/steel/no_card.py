"""What to say of a steel that has no card: by its family, by the carbon in its name, else by its spelling."""

import difflib
import re
from collections.abc import Collection
from dataclasses import dataclass

from kilnctl.treatment.steel.grade_names import plain

# AISI and SAE numbers end in the carbon content in hundredths of a per cent; plain carbon begins with 10.
_AISI = re.compile(r"(?:AISI|SAE|C)?\s*-?((?:1[0135]|4[013678]|5[01]|61|8[678]|9[234])\d\d)", re.IGNORECASE)
_LOW_CARBON = ("mild", "a36", "s235", "s275", "s355", "12l14", "en1a", "en3", "ck15", "16mncr5")
# BS 970 names them 080M40 and 070M55 by the same rule (from memory).
_BS_970 = {"en8": 0.40, "080m40": 0.40, "en9": 0.55, "070m55": 0.55}
# EN ISO 4957 and 683, JIS G 4401, GB 1222 name plain steels by their carbon: C60, C105U, SK85, 65Mn; three
# figures need a letter behind them, for copper has such names too (from memory). C75 is a family of its own.
_BY_CARBON = re.compile(
    r"c[kfmr]?((?!75)\d\d)(?:u|e|s|r|w\d?)?|c(1[0-4]\d)(?:u|s|w\d?)|sk(\d\d\d?)|(\d\d)(?:mn|g)4?"
)
LEAST_HARDENED, LEAST_FOR_AN_EDGE, LEAST_FOR_A_PLAIN_EDGE = 0.30, 0.50, 0.56
MOST_MEASURED = 1.15  # where the measured tempers of plain steel end
SPELT_ALIKE = 0.6  # as difflib counts: a slip in a name of three letters, and no other grade of two
TRY = (
    "an unknown steel is tried on coupons first: `kilnctl steel coupons NAME`; "
    "`kilnctl steel new` writes a card"
)
LOW_CARBON = (
    "low-carbon steel does not harden through in any quench. Carburising (case hardening) is not planned "
    "here: it needs a carbon pack or gas, and a process of its own"
)
SHEET = "its mill's sheet has its heats: `kilnctl steel new` writes a card from it"


@dataclass(frozen=True, slots=True)
class Family:
    """A family of steels by name (spaces and hyphens left out): what is known of it without a card.

    `coupons` says that the heats and baths of coupons, 780 to 840 degC into oil, could harden it.
    """

    names: str
    says: str
    coupons: bool = False


# What a family is, where a maker names one (common practice and memory; the heats are round figures). 3V's:
# a published sheet; EN45's: a stockist's sheet of 250A53.
_FAMILIES = (
    *(
        Family(names, f"it hardens {says} (from memory); {SHEET}")
        for names, says in (
            (r"(cpm)?magnacut", "from 1120 °C in plates, in foil, cold, tempered at 175 °C: 62-63 HRC"),
            (
                r"(cpm)?154(cm)?|ats34|rwl34",
                "from 1040-1080 °C in plates, in foil, cold, at 200 °C: 59-61 HRC",
            ),
            (r"(cpm)?s(30v|35vn|45vn)", "from 1040-1095 °C in plates, in foil, cold, at 200 °C: 59-61 HRC"),
            (r"n690(co)?|1\.4528", "from 1050-1080 °C in plates, in foil, cold, at 175 °C: 59-60 HRC"),
            (r"vg10", "from 1050-1080 °C in plates, in foil, cold, at 150-200 °C: 60-61 HRC"),
            (r"elmax", "from 1050-1100 °C in plates, in foil, cold, at 200 °C: 60-61 HRC"),
            (
                r"m390|(cts)?204p|(cpm)?20cv",
                "from 1100-1180 °C in plates, in foil, cold, at 200 °C: 60-62 HRC",
            ),
            (
                r"(cpm|z)?(cruwear|wear)",
                "from 1040-1120 °C in plates, in foil, three times at 540 °C: 61-63 HRC",
            ),
            (r"440a", "from 1010-1065 °C in plates or oil, at 150-200 °C: 55-57 HRC"),
            (r"440b|1\.4112|x90crmov18", "from 1010-1065 °C in plates or oil, at 150-200 °C: 57-59 HRC"),
            (
                r"1\.2550|60wcrv[78]",
                "from 870-900 °C in oil, as S1, at 200 °C: 57-59 HRC",
            ),
            (r"1\.2067|102cr6", "from 830-850 °C in oil, near 52100, at 150 °C: 62-63, at 200 °C: 60-62 HRC"),
        )
    ),
    Family(
        r"[tuy](7|8|9|10|11|12|13)a?",
        "plain tool steel, its number the carbon in tenths of a per cent: T10 is near 1095 and W1, T8 near "
        f"1080 (from memory); {SHEET}",
        coupons=True,
    ),
    Family(
        r"(blue|white)(paper)?(steel)?(no\.?)?\d?|(ao|shiro)gami\d?|(super)blue",
        "white: plain, 1.0-1.3 % C, from 760-800 °C, water or thin in fast oil; blue: with Cr and W, from "
        f"780-830 °C in oil; at 160-230 °C 61-65 HRC (from memory); {SHEET}",
        coupons=True,
    ),
    Family(
        r"hss.*|highspeed.*|m[1-4]|m3[56]|m42|t1|t15",
        "high-speed steel: from 1180-1230 °C to cut red-hot, too hot for a shop; M2 for cold work from "
        f"1050-1175 °C too, 2-3 tempers at 540-560 °C, 60-63 HRC (from memory); {SHEET}",
    ),
    Family(
        r"(cpm)?(3|4|9|10|15)v|(cpm|z)?(cruwear|wear)|cpmm4|cpmrex.*|k390|vanadis.*|cpm1v",
        "a powder tool steel of high vanadium: 3V hardens from 1025-1120 °C and is tempered three times at "
        f"540-595 °C, never below 510 °C, where it stays brittle (its sheet); {SHEET}",
    ),
    Family(
        r"s[157]",
        "a shock-resisting tool steel: S1 hardens from 900-955 °C in oil, S5 from 870-925 °C in oil, S7 from "
        "925-955 °C in still air, for chisels that are struck at 54 to 58 HRC (all from memory of the "
        f"handbook); {SHEET}",
    ),
    Family(r"s2", f"a shock-resisting tool steel, hardened and tempered by rules of its own; {SHEET}"),
    Family(
        r"h1[0123]",
        f"a hot-work steel: it hardens in air from 1000 °C, to 56 HRC at most (from memory); {SHEET}",
    ),
    Family(
        r"en45a?|250a5[38]|5[56]si7|925[45]",
        "a silicon spring steel: it hardens from 880-930 °C in oil, is tempered at 400-550 °C for springs, "
        f"and loses carbon from its skin easily (a stockist's sheet); {SHEET}",
    ),
    Family(
        r"en4[234]\w?|(070|080|060)a[79]\d|c?k?75s?",
        f"a plain carbon spring steel near 1075 and 1084, by its name alone; {SHEET}",
        coupons=True,
    ),
    Family(
        r"0[1-7]",
        "that is a zero; the oil-hardening steels have the letter O, as in O1 and O2, before their number",
    ),
    Family(
        r"o[3-7]",
        "an oil-hardening tool steel by its letter, and not O1: O6 hardens from 790-815 °C in oil and is not "
        f"normalised (a seller's sheet); {SHEET}",
        coupons=True,
    ),
    Family(
        r"w[3-7]",
        f"a shallow tool steel by its letter, hardened in water from about 770-800 °C (from memory); {SHEET}",
        coupons=True,
    ),
    Family(
        r"a([3-9]|10)",
        "a tool steel that hardens in air, by its letter: some from 790 °C, most from 950 °C (from memory); "
        f"oil can crack it; {SHEET}",
    ),
    Family(
        r"d[13-7]|1\.2080|x210cr12",
        "a tool steel of high carbon and chromium by its letter: from about 930-1000 °C, D3 in oil, the "
        f"others in air (from memory); {SHEET}",
    ),
    Family(
        r"l[237]",
        f"a low-alloy tool steel by its letter, hardened from 790-870 °C in oil (from memory); {SHEET}",
        coupons=True,
    ),
    Family(
        r"5[018]crv4?|1\.8159|sup10|en47",
        "a chromium-vanadium spring steel of about 0.5 % carbon, as 6150: from 830-870 °C in oil, softer "
        f"than a fine edge wants (from memory); {SHEET}",
        coupons=True,
    ),
    Family(
        r"sup9a?|en48a?|527a60|60cr3",
        "a chromium spring steel near 5160 and not the same (from memory): try the heats of 5160 on coupons, "
        "`kilnctl steel coupons NAME`, never in water",
        coupons=True,
    ),
    Family(
        r"115crv3|1\.2210|107crv3",
        "silver steel of about 1.15 % carbon: from 770-810 °C in water, thin from 810-840 °C in oil (from "
        f"memory); {SHEET}",
        coupons=True,
    ),
    Family(r"\d\.\d{4}", f"no card here has that material number; {SHEET}", coupons=True),
    Family(
        r"l6", f"near 8670 and 15N20 and neither of them, its temper comes out 2-3 HRC harder; {SHEET}", True
    ),
    Family(
        r"silversteel|drillrod|groundstock",
        "ground bar is sold under that name in several grades, for water and for oil: ask the seller which "
        "it is, and use that card",
        coupons=True,
    ),
    Family(
        r"4[0-4]\d(?:[abcf]|hc)?|3\d\d|\d\dc\d\d.*|154cm|ats34|vg\d+|n690.*|x\d+cr.*|(cpm)?s\d{2,3}vn?|"
        r"cpm.*|magnacut|elmax|vanax.*|m390|(cts)?204p|20cv|rwl34|zdp189|sg2|nitrov|lc200n",
        "stainless and powder steels want foil or a gas, plates, and a furnace that goes to its own heat, "
        f"mostly above 1000 °C; no card here is near enough: {SHEET}",
    ),
    Family(
        r".*(spring|file|rasp|saw|bearing|axle|chain|spike|rebar|reinforc|scrap|chisel|drill|unknown|damascus)"
        r".*|toolsteel|steel|carbonsteel",
        "that names an article, not a grade: unless its grade is stamped on it, nobody knows it; " + TRY,
        coupons=True,
    ),
    Family(
        r".*(wrought|iron|nickel|copper|brass|bronze|titanium|alumin).*",
        "it does not harden by a quench; the jacket of a laminate may be of it: `cladding` in the recipe",
    ),
)


def family_of(name: str) -> Family | None:
    """Return the family that a name tells, or None."""
    return next((family for family in _FAMILIES if re.fullmatch(family.names, plain(name))), None)


def say_known(name: str) -> str:
    """Return what is known of a name without its card, empty where nothing is: for whoever writes one."""
    carbon, family = carbon_of(name), family_of(name)
    if carbon is not None and carbon < LEAST_HARDENED:
        return LOW_CARBON
    return "" if family is None else family.says.removesuffix(f"; {SHEET}").removesuffix(f": {SHEET}")


def why_no_coupons(name: str) -> str:
    """Say why coupons teach nothing of a steel: it is known that their heats cannot harden it; or nothing."""
    carbon, family = carbon_of(name), family_of(name)
    if carbon is not None and carbon < LEAST_HARDENED:
        return LOW_CARBON
    return family.says if family is not None and not family.coupons else ""


def say_no_card(name: str, grades: Collection[str], sister: str | None = None) -> str:
    """Return what is known of a grade without a card, and what can be done."""
    if sister is not None:
        return f'no steel "{name}": {sister} is its sister grade, near and not the same; {SHEET}'
    family, carbon = family_of(name), carbon_of(name)
    if carbon is not None or family is None:
        return _by_carbon(name, carbon) if carbon is not None else _by_nearest(name, grades)
    return f'no steel "{name}": {family.says}'


def _by_carbon(name: str, carbon: float) -> str:
    if carbon < LEAST_HARDENED:
        return f'no steel "{name}": {LOW_CARBON}'
    is_plain = name.strip()[-4:].startswith("10") or _BY_CARBON.fullmatch(plain(name)) is not None
    return f'no steel "{name}": by its number about {carbon:g} % carbon; {_use(carbon, is_plain)}; {TRY}'


def _use(carbon: float, is_plain: bool) -> str:
    if is_plain and carbon > MOST_MEASURED:
        return "a plain steel for files, razors and hard edges, shallow in any quench"
    if is_plain and carbon >= LEAST_FOR_A_PLAIN_EDGE:
        return f"`kilnctl figure hardness 200C 2h --carbon {carbon:g}` tells its temper"
    if carbon >= LEAST_FOR_AN_EDGE:
        return "a steel for springs and tough blades, softer than a fine edge wants"
    return "it is a steel for shafts and hammers, an edge of it stays soft"


def _by_nearest(name: str, grades: Collection[str]) -> str:
    lowered = {grade.casefold(): grade for grade in grades}
    near = difflib.get_close_matches(name.casefold(), lowered, n=3, cutoff=SPELT_ALIKE)
    named = ", ".join(lowered[n] for n in near)
    which = (
        f"spelt like it: {named}, if it was a slip; names tell nothing of a steel"
        if near
        else "`kilnctl steel list` shows the cards"
    )
    return f'no steel "{name}"; {which}; {TRY}'


def carbon_of(name: str) -> float | None:
    """Return the carbon content that a name tells, in per cent: of an AISI number; 0.1 for mild steel."""
    if any(known in name.casefold() for known in _LOW_CARBON):
        return 0.1
    if plain(name) in _BS_970:
        return _BS_970[plain(name)]
    if by_name := _BY_CARBON.fullmatch(plain(name)):
        return int(next(filter(None, by_name.groups()))) / 100.0
    match = _AISI.fullmatch(name.strip())
    return int(match[1][-2:]) / 100.0 if match else None
