"""What is told first, whatever else a question says: somebody in need has no time for a second look."""

import re

PERSON = r"(i|he|she|somebody|someone|man|woman|wife|husband|son|daughter|child|boy|girl|friend|helper|mate)"
CLOTHES = r"(clothes|clothing|shirt|sleeve|trousers|pants|jeans|apron|jacket|hair|beard|gloves?)"
TOOK_HOLD = "(grabbed|touched|took hold|held|picked up|stepped on|sat on|knelt|caught|brushed)"
BODY = "(hand|arm|finger|fingers|face|skin|leg|foot|myself)"
HOTTER = "(hotter|climbs?|climbing|rises?|rising|going up|goes up|heating|heats|glows|glowing)"
# How a person in need asks; the first words of the passage that says what to do.
TOLD_FIRST = (
    (rf"{CLOTHES}\b.*\b(fire|burn|burns|burning|flames)|(fire|burning|flames)\b.*\b{CLOTHES}\b", "Clothes"),
    (rf"\b{PERSON}\b.*(unconscious|passed out|collapsed|fainted|lying|lies|not breathing)", "Somebody has"),
    (r"electric shock|electrocut|\b(got|gets|had|gave me|felt) an? (\w+ )?shock", "An electric shock"),
    (r"smell(s|ed)? (of )?gas|\bco alarm|carbon monoxide alarm|dizzy|headache", "You smell gas"),
    (r"\b(in|into|hit|hurt) (my|his|her|the|an|one) eye", "Scale, a spark"),
    (rf"\b{TOOK_HOLD}\b.*\b(hot|glowing)\b", "A burn"),
    (rf"\b(burnt|burned|burn|scalded|blister)\b.*\b{BODY}\b", "A burn"),
)
OIL_FIRE = re.compile(r"\b(oil|tank|quench)\b.*\b(on fire|(is|are) burning|caught fire|alight|in flames)\b")
RUNAWAY = re.compile(
    rf"\b(off|zero|0 ?%|stop|stopped)( .*)?\b{HOTTER}\b"
    rf"|\b(keeps?|goes on|continues?) (on )?((getting )?{HOTTER}|to heat)\b"
    r"|\b(won.?t|will not|doesn.?t|does not|cannot|can.?t) (stop (heating|getting hot)|switch off|turn off)"
    r"|\brun(s|ning)? ?away\b"
)
NOT_THE_HEAT = re.compile(r"\b(horn|alarm|buzzer|lamp|light|screen|fan|messages?)\b")


def told_first(question: str) -> tuple[str, str] | None:
    """Return the topic and the first words of the passage that must come first; None where none must."""
    text = question.lower()
    for asks, begins in TOLD_FIRST:
        if re.search(asks, text):
            return "somebody-is-hurt", begins
    if OIL_FIRE.search(text):
        return "the-oil-burns", "The oil is burning"
    if RUNAWAY.search(text) and not NOT_THE_HEAT.search(text):
        return "electrical-trouble", "The temperature still climbs"
    return None
