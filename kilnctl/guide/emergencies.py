"""What is told first, whatever else a question says: somebody in need has no time for a second look.

An intent is found by words that stand together in any order, not by one sentence: need is put in many ways.
"""

import re

from kilnctl.guide.fires import FIRES
from kilnctl.guide.words_of_need import (
    ASKS,
    BODY,
    CLIMBS,
    CLOTHES,
    CUT,
    EATEN,
    FLAMES,
    FLUNG,
    HEATER,
    HELD,
    HIM,
    HURTS,
    JOLT,
    LIGHT,
    LIMB,
    MACHINE,
    NO_HEAT,
    NOT_OFF,
    ON_THE_CURRENT,
    PERSON,
    PET,
    POISON,
    STILL,
    STUFF,
    TOOK_HOLD,
    UNABLE,
    WENT_OFF,
    Emergency,
    far_above_set,
)

HURT = "somebody-is-hurt"
EMERGENCIES = (
    Emergency(
        HURT,
        "An electric shock",
        (
            (r"electric (shock|jolt)|electrocut|\bzapped|shocked by|can(no|.?)t let (go|loose)",),
            (rf"({PERSON}|{PET}|\bi\b|\b(hands?|fist|fingers?|arms?)\b){LIGHT} {HELD}", ON_THE_CURRENT),
            (r"^(help\W+)?(frozen|locked)( on)? ?(to|onto)\b", ON_THE_CURRENT),
            (rf"^(help\W+)?{HELD}", ON_THE_CURRENT, r"\bpower\b.*\bon\b|\bcurrent\b"),
            (
                rf"{UNABLE} (\w+ )?(his|her|my|their|the) (hands?|fingers?|arms?)"
                r"( \w+)? (off|away|free|loose|back|from|out)\b",
            ),
            (
                rf"{UNABLE} \w+ (him|her|them|himself|herself|myself)( \w+)? (off|away|free|loose|from)\b",
                ON_THE_CURRENT,
            ),
            (
                rf"({PERSON}|\bi\b) {UNABLE} (let|come|get|break|pull) (go|off|away|free|loose)\b",
                ON_THE_CURRENT,
            ),
            (
                rf"\b(hands?|fingers?|arms?) {UNABLE} (come|move|get|let|open)( (off|away|free|loose|go))?\b",
                ON_THE_CURRENT,
            ),
            (PERSON, rf"\band {UNABLE} (let|get|break|come) (go|off|away|free|loose)\b", ON_THE_CURRENT),
            (r"\b(flung|hurled|thrown|blasted) off the (oven|kiln|furnace|door|tongs|case)\b",),
            (r"\bhit by the (oven|kiln|furnace|case|tongs)\b(?! door)",),
            (rf"({PERSON}|\bi\b) {UNABLE} (release|drop|let go of)\b", ON_THE_CURRENT),
            (
                rf"({PERSON}|{PET}|\bi\b){LIGHT} (being |been |getting )*shocked\b"
                r"(?! (at|that|how|to|when i saw))",
            ),
            (r"\b(being|getting|got|gets) shocked\b",),
            (
                rf"(^got|^was|(\bi\b|{PERSON}|{PET}){LIGHT}) (been )?"
                rf"(thrown|flung|hurled|knocked|blown|blasted|tossed) {FLUNG}",
            ),
            (rf"\b(threw|flung|hurled|knocked|blew|kicked) {HIM} {FLUNG}",),
            (rf"\b(bit|kicked|zapped|stung|belted|jolted|buzzed|shocked) {HIM}\b(?! out)", ON_THE_CURRENT),
            (
                rf"\b(got|gets?|gave|gives?|had|felt|took) ({HIM} )?an? (\w+ )?{JOLT} (off|from|at|when)\b",
                ON_THE_CURRENT,
            ),
            (rf"{ON_THE_CURRENT} (\w+ )?(gave|gives|giving) {HIM} an? (\w+ )?{JOLT}\b",),
            (
                rf"{UNABLE} (open|unclench|move|straighten) (his|her|my|their|the) (\w+ )?"
                r"(fist|hands?|fingers|arms?)\b",
                ON_THE_CURRENT,
            ),
            (PERSON, r"\b(shak|trembl)\w+ (all over|badly|violently)|and shaking\b", ON_THE_CURRENT),
            (rf"{PERSON}|{BODY}", r"\b(jerk|twitch|convuls|spasm|cramp)(s|ed|ing)?\b", ON_THE_CURRENT),
            (BODY, r"\bnumb\b(?!.*\b(cold|burn\w*))", ON_THE_CURRENT),
            (r"\b(got|gets|had|felt|gave|have)\b", r"\bshock\b"),
            (BODY, r"\btingl\w*"),
            (r"\b(hit by|felt|feel|through|in my|touched)\b", r"\b(volts?|current|electricity|live wire)\b"),
        ),
        r"absorber|thermal|grind|buff|\b(file|setup|set-up|menu|page|command|wizard|step|recipe|question)\b",
    ),
    Emergency(
        HURT,
        "Clothes",
        (
            (CLOTHES, FLAMES),
            (rf"({PERSON}|\bi\b){LIGHT} (on fire|in flames|ablaze|alight)\b",),
        ),
        r"\b(against|which|wear)\b",
    ),
    Emergency(
        HURT,
        "Somebody has",
        (
            (
                r"\b(unconscious|not breathing|fainted|passed out|out cold|slumped|unresponsive|lifeless"
                r"|keeled over|blacked out|knocked out|had a seizure)\b",
            ),
            (PERSON, rf"({UNABLE}|doesn.?t|does not|not) (wake|waking|come round)"),
            (
                PERSON,
                r"\b(collapsed|(fell|dropped) down"
                r"|dropped(?! (the|an?|my|his|her|it|to (?!the (floor|ground))|\d))"
                r"|lying|lies|on the floor|not moving)\b",
            ),
            (PERSON, r"\bnot (answer|move|react|respond)\b"),
        ),
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
        "Acid, pickle",
        ((STUFF, r"\b(in|into|to|hit|splash\w*|got)\b.{0,14}\beyes?\b"),),
        rf"\b(protection|wear|glasses|goggles|by eye|axe|hatchet|hammer|poll)\b|{ASKS}",
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
        "A child or somebody has swallowed",
        (
            (
                rf"({PERSON}|{PET}|\b(i|we)\b)( \w+){{0,3}}? {EATEN}\b"
                rf"( (?!beside|near|next|by|over)\w+){{0,4}}? {POISON}",
            ),
        ),
        ASKS,
    ),
    Emergency(
        HURT,
        "A deep cut",
        (
            (r"\b(bleeds?|bleeding|blood)\b(?!.? ?(red|groove|warm|hot))",),
            (rf"\b(cut|sliced|slashed|gashed|stabbed|chopped|tore|ripped)( \w+)? {BODY}",),
            (
                rf"\b{LIMB}( is| was| got| has been)? (nearly |half |almost )?"
                r"(cut|sliced|chopped|torn|ripped|ground|taken) (off|open|through|by|to)\b",
            ),
            (MACHINE, rf"\b(took|cut|ground|tore) (off )?{BODY}"),
            (
                r"\b(splinter|shard|chip|piece|fragment) .*\b(in|into|through)\b",
                BODY,
                r"\b(went|flew|stuck|is|shot)\b",
            ),
        ),
        rf"\b(hot|glowing|blood steel)\b|{ASKS}",
    ),
    Emergency(
        HURT,
        "A burn",
        (
            (BODY, HURTS),
            (BODY, TOOK_HOLD),
            (TOOK_HOLD, r"\b(hot|glowing|furnace|oven|kiln|plates?)\b"),
            (
                r"\b(caught|catch|grabbed|grabbed at)\b",
                r"\b(falling|slipping|slipped|fell)\b",
                r"\b(blade|knife|part|tang|steel)\b",
            ),
            (r"\b(burnt|burned|scalded) (hands?|fingers?|arms?|skin|face|feet|foot)\b",),
        ),
        rf"{ASKS}|\belement|\b(sensor|probe|thermocouple)\b",
    ),
    *FIRES,
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
                rf"{NOT_OFF} .*(stop|end|quit|shut (off|down)|cut (out|off)|drop|go off|come down"
                r"|react|respond|obey)",
                rf"{HEATER}|\bcome down",
            ),
            (
                rf"{NOT_OFF} (\w+ )?(turn|switch|shut|power|get|make|cut)"
                r"( it| this| that| (the|my) (\w+ )?(oven|kiln|furnace|heat\w*|elements?|relay|power|thing))?"
                r" (off|down|stop)\b",
            ),
            (rf"^(\w+\W+)?it {NOT_OFF} (stop|quit|shut down|go off)",),
            (
                r"(\bnot|n.t|never) (stopp|shutt|cool|com|dropp|go|fall)ing\b",
                r"\b(too hot|hotter|glow\w*|climb\w*|rising)\b",
            ),
            (
                r"\b(not|n.t) (drop|fall|go down|come down|cool)\b",
                r"\b(climb\w*|rising|hotter|still up|going up)\b",
            ),
            (
                r"\b(stuck|jammed|locked) (full )?on(\W*$|[,!.;]|\W+(and|but|full|glow\w*|heat\w*)\b)",
                rf"{HEATER}|\bglow\w*",
            ),
            (r"\b(stuck|jammed|locked|running|runs) (at|on) full\b", rf"{HEATER}|\bpower\b"),
            (WENT_OFF, r"\b(temp\w*|heat|reading|it)(.s)?( \w+)? (up|higher)\b"),
            (
                rf"{HEATER}( \w+){{0,2}}? (shot|ran|races?|raced|rocket(s|ed)|soar(s|ed)|took off)"
                r" ?(right )?(up )?(to|past|over|above|up)"
                r"\D{0,8}\d{2,4}\b|\bshot up\b",
                HEATER,
            ),
            (
                r"\b(pressed|hit|pushed|press) (stop|off|f9|the (red|stop|off))",
                r"\b(nothing|no effect|ignore\w*|does not react)\b",
            ),
            (r"\brun(s|ning)? ?away\b", HEATER),
        ),
        rf"(off|stop|silence) (the |my |that )?{NO_HEAT}\b|\b{NO_HEAT}( \w+)? {NOT_OFF}"
        rf"|{NOT_OFF} \w+ (the |my |that )?{NO_HEAT}\b"
        rf"|\bhow (fast|slow|long)|{ASKS}",
    ),
)


RUNAWAY = EMERGENCIES[-1]


def told_first(question: str) -> tuple[str, str] | None:
    """Return the topic and the first words of the passage that must come first; None where none must."""
    text = " ".join(question.lower().replace("\N{RIGHT SINGLE QUOTATION MARK}", "'").split())
    # "what do I do, it won't stop heating": what follows the question says the need
    whole_and_after = (text, *(text[at.end() :] for at in re.finditer(r"[,.!?;:] ", text)))
    for need in EMERGENCIES:
        if any(_asked(need, said) for said in whole_and_after):
            return need.topic, need.begins
    return (RUNAWAY.topic, RUNAWAY.begins) if far_above_set(text) else None


def _asked(need: Emergency, text: str) -> bool:
    found = any(all(re.search(words, text) for words in way) for way in need.ways)
    return found and not re.search(need.but, text)
