"""What is told first, whatever else a question says: somebody in need has no time for a second look.

An intent is found by words that stand together in any order, not by one sentence: need is put in many ways.
"""

import re
from dataclasses import dataclass

PERSON = (
    r"\b(he|she|him|her|somebody|someone|everybody|man|woman|wife|husband|partner|son|daughter|child|kid|boy|girl"
    r"|friend|helper|mate|dad|mum|mom|father|mother|brother|sister|neighbou?r|colleague|apprentice|visitor)\b"
)
CLOTHES = (
    r"\b(clothes|clothing|shirt|sleeve|trousers|pants|jeans|apron|jacket|sweater|scarf|coat|overalls|hair"
    r"|beard|gloves?)\b"
)
FLAMES = r"\b(fire|burn|burns|burning|flames|flaming|alight|ablaze|smoulder\w*)\b"
BODY = (
    r"\b(my|his|her|their|the|a) (\w+ )?(hands?|(fore)?arms?|finger(tip)?s?|thumb|face|cheek|wrist|palm|legs?"
    r"|foot|feet|toes?|knee|neck|skin|boots?|shoes?)\b|\bmyself\b|\bbare (hands?|fingers?)"
)
TOOK_HOLD = (
    r"\b(grabbed|touched|took hold|held|picked up|stepped on|sat (on|down)|knelt|leaned|caught|brushed"
    r"|fell (against|on|into))\b"
)
HURTS = (
    r"\b(hot|hit|burn\w*|blister\w*|scald\w*|scorch\w*|cooked|steam\w*|glowing|splash\w*|spat|slag|caught|molten|furnace"
    r"|oven|door|plates?)\b"
)
CLIMBS = (
    r"\b(hotter|climb\w*|ris(e|es|ing)|creep\w*|shoot\w*|warming|glow\w*|brighter|heating|heats|red|going up"
    r"|goes up)\b"
)
CUT = r"\b(off|stop|stopped|zero|0|shut|cut|idle|trip)\b"
STILL = r"\b(still|keeps?|kept|stays?|went on|but|although|though|even|and|with|it.?s)\b"
NOT_OFF = r"(won.?t|will not|doesn.?t|does not|did not|didn.?t|cannot|can.?t|could not|refuses to)"
HEATER = r"\b(oven|kiln|furnace|heat|heater|heating|temperature|elements?|relay|hot\w*)\b"
OIL = r"\b(oil|tank|quench|bucket)\b"
ASKS = r"^(can(?!.?t)|may|should|could|must|is|do i|does|how do|how can|which|what)\b"


@dataclass(frozen=True, slots=True)
class Emergency:
    """Where it is told what to do, and the ways to ask: all patterns of one way are found, `but` is not."""

    topic: str
    begins: str
    ways: tuple[tuple[str, ...], ...]
    but: str = r"$^"


HURT = "somebody-is-hurt"
EMERGENCIES = (
    Emergency(
        HURT,
        "Clothes",
        ((CLOTHES, FLAMES), (r"\b(i am|i'm|(he|she) is) on fire\b",)),
        r"\b(against|which|wear)\b",
    ),
    Emergency(
        HURT,
        "Somebody has",
        (
            (r"\b(unconscious|not breathing|fainted|passed out|out cold|slumped|unresponsive)\b",),
            (PERSON, r"\b(collapsed|dropped|(fell|dropped) down|lying|lies|on the floor|not moving)\b"),
            (PERSON, r"\bnot (answer|move|react|respond)\b"),
        ),
    ),
    Emergency(
        HURT,
        "An electric shock",
        (
            (r"electric (shock|jolt)|electrocut|\bzapped|shocked by|can(no|.?)t let go",),
            (PERSON, r"\b(hangs|hanging|stuck) (on|to) the (cable|wire|element)\b"),
            (r"\b(got|gets|had|felt|gave|have)\b", r"\bshock\b"),
            (BODY, r"\btingl\w*"),
            (r"\b(hit by|felt|feel|through|in my|touched)\b", r"\b(volts?|current|electricity|live wire)\b"),
        ),
        r"absorber|thermal|grinding",
    ),
    Emergency(
        HURT,
        "You smell gas",
        (
            (r"\bsmell\w*\b", r"\b(gas|propane|butane)\b"),
            (r"\b(co|gas|monoxide) (alarm|detector|sensor|meter|monitor|leak)|\bgas is leaking\b",),
            (r"\bdizzy|headache|\bhead (hurts|aches)",),
        ),
    ),
    Emergency(
        HURT,
        "Fumes, smoke or dust",
        (
            (
                r"\b(sick|ill|fever\w*|shiver\w*|cough\w*|vomit\w*|nausea)\b",
                r"\b(fumes?|smoke|galvani\w*|zinc|paint\w*|plated|cadmium|solder\w*|plastic|dust|breathed|after)\b",
            ),
            (r"\b(breathed|inhaled)\b", r"\b(fumes?|smoke|dust|in)\b"),
        ),
    ),
    Emergency(
        HURT,
        "Scale, a spark",
        (
            (r"\b(in|into|hit|hurts?)\b.{0,14}\beyes?\b",),
            (r"\beyes?\b", r"\b(hurts?|spark|chip|splinter|flew|splash\w*|something|dust|open)\b"),
        ),
        r"\b(protection|wear|glasses|goggles|which|by eye|naked eye|axe|hatchet|hammer|poll|handle)\b",
    ),
    Emergency(
        HURT,
        "A burn",
        (
            (BODY, HURTS),
            (BODY, TOOK_HOLD),
            (TOOK_HOLD, r"\b(hot|glowing|furnace|oven|plates?)\b"),
            (r"\b(burnt|burned|scalded) (hands?|fingers?|arms?|skin|face|feet|foot)\b",),
        ),
        rf"{ASKS}|\belement|\b(sensor|probe|thermocouple)\b",
    ),
    Emergency(
        "the-oil-burns",
        "The oil is burning",
        (
            (OIL, r"\b(on fire|fire (in|on)|flaming|alight|ablaze|caught fire|flames|burst into)\b"),
            (r"\b(oil|tank) (is |are )?(burns|burning)\b|\bburning oil\b",),
        ),
        r"\b(second|normal|small|little|blanket|extinguisher|class)\b",
    ),
    Emergency(
        "electrical-trouble",
        "The temperature still climbs",
        (
            (CLIMBS, CUT, STILL),
            (rf"\b(keeps?|kept|went|carries|goes) (on )?(getting )?{CLIMBS}",),
            (r"\bgetting hotter\b", r"\b(but|still|and)\b"),
            (r"\bstill (heating|heats|getting|glow\w*|climbing|rising)\b",),
            (r"\b(stays?|still|remains?|full|fully) on\b", HEATER),
            (r"\bitself\b", r"\b(heats|heating|on)\b", r"^(?!.*\boff\b)"),
            (
                r"\b(past|over|above|instead)\b",
                r"\b(target|set.?point|set|temperature|of)\b",
                r"\b(still|rising|fast|climbing|not come down)\b",
            ),
            (
                rf"{NOT_OFF} .*(stop|end|quit|shut|drop|switch off|turn off|go off|come down)",
                rf"{HEATER}|\bcome down",
            ),
            (r"\brun(s|ning)? ?away\b", HEATER),
        ),
        rf"\b(horn|buzzer|fan|screen|messages?|alarm)\b|\bhow (fast|slow|long)|{ASKS}",
    ),
)


def told_first(question: str) -> tuple[str, str] | None:
    """Return the topic and the first words of the passage that must come first; None where none must."""
    text = " ".join(question.lower().split())
    for need in EMERGENCIES:
        asked = any(all(re.search(words, text) for words in way) for way in need.ways)
        if asked and not re.search(need.but, text):
            return need.topic, need.begins
    return None
