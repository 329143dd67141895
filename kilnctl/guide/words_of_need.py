"""The words of need: who it is, what has hold of them, what burns, and a heater that does not go off."""

import re
from dataclasses import dataclass

PERSON = (
    r"\b(grand|step)?(he|she|him|her|somebody|someone|everybody|man|woman|wife|husband|partner|son|daughter|child(ren)?|kids?"
    r"|boy|girl|lad|toddler|baby|friend|helper|mate|buddy|guy|bloke|dad|granddad|grandma|uncle|aunt|nephew|niece|mum|mom"
    r"|father|mother|brother|sister|neighbou?r|colleague|apprentice|visitor|person|granny|grandpa|electrician|student|cousin)\b"
)
PET = r"\b(dog|cat|puppy|kitten|pet)\b"
ON_THE_CURRENT = (
    r"\b(oven|kiln|furnace|forge|tongs|door|handle|case|casing|box|cabinet|panel|cable|wire|lead|plug|element|coil"
    r"|terminals?|controller|heater|power|chassis|mains)\b"
)
CLOTHES = (
    r"\b(clothes|clothing|shirt|sleeve|trousers|pants|jeans|apron|jacket|sweater|scarf|coat|overalls|dress|skirt"
    r"|hoodie|socks?|hair"
    r"|beard|gloves?)\b"
)
FLAMES = r"\b(fire|burn|burns|burning|flames|flaming|alight|ablaze|smoulder\w*)\b"
BODY = (
    r"(?:\b(my|his|her|their|the|a) (\w+ )?(hands?|(fore)?arms?|finger(tip)?s?|thumb|face|cheek|wrist|palm"
    r"|legs?|foot|feet|toes?|knee|neck|skin|boots?|shoes?)\b|\bmyself\b|\bbare (hands?|fingers?))"
)
LIMB = r"((fore)?fingers?|finger ?tips?|thumbs?|hands?|arms?|toes?)\b"
MACHINE = r"\b(grinder|belt|saw|wheel|disc|disk|drill|blade|knife|shears|buffer)\b"
STUFF = r"\b(oil|acid|etchant|ferric|pickle|lye|salts?|brine|cleaner|solvent|flux)\b"
PLACE = (
    r"\b(roof|ceiling|rafters?|walls?|floor|bench|table|shed|garage|workshop|shop|curtains?|shel(f|ves)|house|carpet"
    r"|rags?|bin|sawdust|barn|cupboard)\b"
)
TOOK_HOLD = (
    r"\b(grabbed|touched|took hold|held|picked up|(stepped|walked|trod) on|sat (on|down)|knelt|leaned"
    r"|caught|brushed|catch|grabbed at|fell (against|on|into))\b"
)
HURTS = (
    r"\b(hot|hit|burn\w*|blister\w*|scald\w*|scorch\w*|cooked|steam\w*|glowing|splash\w*|spat|slag|caught|molten|furnace"
    r"|kiln|oven|door|plates?)\b"
)
CLIMBS = (
    r"\b(hotter|climb\w*|ris(e|es|ing)|creep\w*|shoot\w*|warming|glow\w*|brighter|heating|heats|red|going up"
    r"|goes up)\b"
)
CUT = r"\b(off|stop|stopped|zero|0|shut|cut|idle|trip)\b"
STILL = r"\b(still|keeps?|kept|stays?|went on|but|although|though|yet|even|and|with|it.?s)\b"
NOT_OFF = (
    r"\b(won.?t|will not|doesn.?t|does not|did not|didn.?t|cannot|can.?t|can not|could.?n.t|could not"
    r"|refuses to|not able to|unable to|no way to)"
)
HEATER = r"\b(oven|kiln|furnace|heat|heater|heating|temperature|temp|elements?|relay|hot\w*)\b"
OIL = r"\b(oil|tank|quench|bucket)\b"
ASKS = r"^(can(?!.?t)|may|should(?! be)|could|must|is|do i|does|how do|how can|which|what)\b"
UNABLE = r"(can.?t|cannot|can not|could ?n.?t|won.?t|will not|unable to|is not able to)"
# Held fast: the person is the one that is, no blade and no lid that they speak of.
HELD = (
    r"(stuck|fast|frozen|welded|locked|glued|clamped|fixed|fastened|hanging|hangs|clinging)( fast| solid"
    r"| on)* (on|to|onto|at|round|around)\b"
)
LIGHT = r"(.?s|.?re|.?m| is| are| was| am| got| gets| now| all| just| completely| standing| still| there)*"
HIM = r"\b(me|him|her|us|them|my \w+)"
FLUNG = (
    r"(back(wards?)?|across|over|off (my|his|her|their) feet|off the (oven|kiln|furnace|door|tongs|case)"
    r"|against|to the (floor|ground|wall)|clear)\b"
)
JOLT = r"(belt|jolt|kick|buzz|bite|whack|zap|wallop|thump|clout|shock)"
EATEN = r"(swallow\w*|drank|drunk|drinks|drinking|ate|eaten|licked|lapped|gulped|sipped|chewed)"
POISON = (
    r"(oil|acid|etchant|salts?|brine|borax|flux|pickle|cleaner|solvent|lye|caustic|chloride|powder|dust"
    r"|quench\w*|coolant)\b"
)
WIRED = (
    r"\b(oven|kiln|furnace|control (box|panel)|controller|cabinet|cable|plug|socket|relay|ssr|wire|wiring"
    r"|fuse ?box|contactor|panel|switchboard|lead)\b"
)
NO_HEAT = (
    r"(horn|buzzer|fan|screen|messages?|alarm|light|lamp|timer|beep\w*|display|wi-?fi|water|cooler|grinder)"
)
WENT_OFF = (
    r"\b(relay|output|heat|heater|power|oven|furnace|kiln|contactor|switched|turned|everything)( is| at| it)?"
    r" (off|zero|0)\b"
)
# What it is set to, what it reads: a far higher reading is a runaway whatever else is said.
SET_AT = re.compile(
    r"\b(set(ting)?|set.?point|target|asked for|programmed|should be|supposed to be|instead of)"
    r"\D{0,12}?(\d{2,4})\b"
)
READS_AT = re.compile(
    r"\b(read(s|ing)?|shows?|showing|actual(ly)?|it.?s at|is at|is now|now at|sits at|up (to|at)|displays?"
    r"|(thermometer|display|controller|oven|kiln|furnace|it) says)\D{0,12}?(\d{2,4})\b"
)
FAR_ABOVE = 40  # degrees of either scale: more than an oven that was tuned overshoots
BOTH_SCALES = re.compile(r"\d ?°?f\b.*\d ?°?c\b|\d ?°?c\b.*\d ?°?f\b|fahrenheit")


@dataclass(frozen=True, slots=True)
class Emergency:
    """Where it is told what to do, and the ways to ask: all patterns of one way are found, `but` is not."""

    topic: str
    begins: str
    ways: tuple[tuple[str, ...], ...]
    but: str = r"$^"


def far_above_set(text: str) -> bool:
    """Return whether an oven is said to read far more than it is set to, now; what it did once is no need."""
    if BOTH_SCALES.search(text) or re.search(rf"\b(was|were|had|type)\b|{ASKS}", text):
        return False
    asked, reads = SET_AT.search(text), READS_AT.search(text)
    return bool(asked and reads and int(reads[reads.re.groups]) - int(asked[3]) >= FAR_ABOVE)
