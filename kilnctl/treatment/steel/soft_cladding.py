"""The jacket of a laminate that has no card: soft iron, stainless, nickel, copper; what it asks for.

All of it is common practice, no single source; melting points as any handbook has them (from memory).
"""

import re

from kilnctl.errors import ProfileError
from kilnctl.treatment.steel.no_card import LEAST_HARDENED, carbon_of

COPPER_MELTS_C, MARGIN_K = 1085.0, 50.0
_SOFT = "it stays soft: file and tester show the core only at the bare edge"
_CARBON_MOVES = (
    "carbon moves from the core into it near the weld: keep heats few and short, or lay nickel between"
)
_STIFF = "it is stiffer than iron and pulls: quench straight in, look for warp while it still gives by hand"
_KINDS = (
    (r"wrought.?iron|(pure )?iron|soft iron|mild.*|low.?carbon.*", (_SOFT, _CARBON_MOVES)),
    (r"(pure )?nickel", (_SOFT,)),
    (r"(austenitic )?stainless.*|3\d\d|430", (_SOFT, _STIFF)),
    (r"41\d", (_STIFF, "it hardens in air to about 40 HRC itself: it is straightened hot, or not at all")),
    (r"copper", (_SOFT, "copper melts at 1085 °C: the welding heat of such a billet stays below it")),
)
_NEVER = re.compile(r".*(brass|bronze|zinc|galvani|alumin|solder|lead|cadmium).*")


def soft_cladding(name: str, hardens_at_c: float | None) -> tuple[str, ...] | None:
    """Return what to mind with a jacket that has no card, None where it is not known.

    `hardens_at_c` is the hottest heat of the core. Raises ProfileError for a jacket that melts or fumes.
    """
    said = name.strip().casefold()
    if _NEVER.fullmatch(said):
        raise ProfileError(f"cladding {name}: it melts or gives off poisonous fumes at a hardening heat")
    if said == "copper" and hardens_at_c is not None and hardens_at_c > COPPER_MELTS_C - MARGIN_K:
        raise ProfileError(
            f"cladding copper melts at {COPPER_MELTS_C:.0f} °C: too near {hardens_at_c:.0f} °C"
        )
    known = next((cautions for kind, cautions in _KINDS if re.fullmatch(kind, said)), None)
    carbon = carbon_of(name)
    low = carbon is not None and carbon < LEAST_HARDENED
    return (_SOFT, _CARBON_MOVES) if known is None and low else known
