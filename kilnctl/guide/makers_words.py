"""What makers say for one another's words, and the words that ask nothing."""

import re

# Words that mean one thing at the bench, or lead to one answer.
SAID_TOO = (
    # how it is spelled
    {"colour", "color"},
    {"grey", "gray"},
    {"normalise", "normalize", "normalising", "normalizing"},
    {"galvanised", "galvanized"},
    {"aluminium", "aluminum"},
    {"vapour", "vapor"},
    {"fibre", "fiber"},
    {"carburising", "carburizing"},
    {"vice", "vise"},
    {"petrol", "gasoline"},
    {"mould", "mold"},
    {"decarb", "decarburised", "decarburisation", "decarburization", "soft skin"},
    {"retemper", "re-temper"},
    {"san-mai", "sanmai", "laminate", "laminated"},
    # the part
    {"warp", "bent", "bow", "bend", "banana", "crooked", "curved"},
    {"knife", "blade", "dagger", "sword", "razor"},
    {"soften", "softer"},
    {"axe", "hatchet", "tomahawk"},
    {"scissors", "shears"},
    {"crack", "tink", "ping", "fracture"},
    {"broke", "broken", "snapped", "shattered"},
    {"flake", "scale", "crust"},
    {"bubble", "blister", "pimple"},
    {"spot", "patch", "blotch", "stain"},
    {"rainbow", "colours"},
    {"sugar", "grain", "crystal", "sparkle"},
    {"damascus", "pattern-welded", "laminate"},
    {"quench", "quenched", "quenchant", "dunk"},
    {"canola", "rapeseed", "vegetable", "sunflower"},
    {"cryo", "cryogenic", "subzero", "sub-zero", "cold treatment"},
    {"hamon", "clay"},
    {"overheated", "overheat", "too hot"},
    {"reharden", "re-harden", "harden again"},
    {"several", "batch", "load", "four", "five", "six", "seven", "eight", "nine", "ten", "dozen"},
    {"overshot", "overshoot", "overshooting"},
    {"melted", "burnt", "brown"},
    {"dwell", "soak"},
    {"etch", "etching", "pickle", "pickling", "acid", "vinegar"},
    {"degrease", "clean", "wash"},
    {"soap", "detergent"},
    # the oven
    {"oven", "furnace", "kiln"},
    {"cable", "line", "wire"},
    {"probe", "sensor", "thermocouple", "couple"},
    {"ssr", "solid-state", "solid state"},
    {"hum", "buzz", "rattle", "noise"},
    {"stuck", "welded", "jammed", "fused"},
    {"rcd", "gfci", "ground-fault", "earth-leakage", "earth leakage"},
    {"reversed", "swapped", "backwards"},
    {"outage", "power", "blackout"},
    {"brownout", "brown-out", "low voltage", "lights dim"},
    {"limit", "cutout", "cut-out"},
    {"insulation", "lining", "brick"},
    {"coil", "element"},
    {"outlet", "socket", "plug"},
    {"disconnect", "isolator"},
    {"uneven", "unevenly", "hot and cold places"},
    # people, place, harm
    {"kid", "child", "children", "toddler", "baby"},
    {"dog", "cat", "pet", "animal"},
    {"visitor", "bystander", "friend", "guest", "onlooker", "neighbour", "neighbor"},
    {"tired", "sleepy", "exhausted"},
    {"drunk", "beer", "alcohol", "wine"},
    {"fire", "flame", "burn", "burning"},
    {"smoke", "fume", "smoky"},
    {"overnight", "unattended", "alone", "bed", "sleep"},
    {"dizzy", "headache", "faint"},
    {"fainted", "unconscious", "collapsed"},
    {"ill", "sick", "fever", "nausea"},
    {"electrocuted", "shock", "tingle", "zapped"},
    {"landlord", "rented", "tenant", "lease"},
    {"insurance", "insurer", "insured"},
    {"cellar", "basement"},
    {"aerosol", "spray", "spraying"},
    {"cylinder", "bottle"},
    {"propane", "butane", "lpg"},
    {"mask", "respirator"},
    {"lung", "breathe", "inhale", "breathed"},
    {"goggles", "glasses", "eye"},
    {"kitchen", "household", "toaster"},
    {"food", "cook", "pizza", "eat"},
    # the program
    {"phone", "telephone", "sms"},
    {"watchdog", "dead-man"},
    {"crash", "freeze", "hang", "fail"},
    {"resume", "continue", "go on"},
    {"customer", "buyer", "client"},
    {"guarantee", "promise", "warranty"},
    {"sell", "sold", "selling", "sale"},
)
# Endings that turn when one becomes many: a knife, knives; a leaf, leaves. No stemmer of plain endings tells.
ONE_AND_MANY = (("ife", "ives"), ("af", "aves"), ("lf", "lves"))
# What nearly any question is about, and says little of what is asked; a number that is no grade is so too.
COMMON = {
    "blade",
    "knife",
    "part",
    "piece",
    "steel",
    "oven",
    "furnace",
    "kiln",
    "tool",
    "work",
    "thing",
    "something",
    "hour",
    "minute",
    "degree",
    "instead",
    "mean",
    "heat",
    "treat",
    "three",
}
COMMON_COUNTS = 0.3
OTHER_WORD = 0.7  # what another word for it counts, against the word that was asked
# Words that say nothing of what is asked.
EMPTY = {
    "a", "about", "after", "all", "am", "an", "and", "any", "are", "as", "at", "be", "because",
    "before", "but", "by", "can", "cannot", "could", "did", "do", "does", "for", "from", "get", "go",
    "goes", "had", "has", "have", "he", "how", "i", "if", "in", "into", "is", "it", "its", "kilnctl",
    "make", "many", "may", "me", "mine", "much", "must", "my", "no", "not", "of", "off",
    "on", "one", "or", "our", "out", "over", "shall", "should", "so", "still", "than", "that", "the", "their",
    "them", "then", "there", "they", "this", "to", "too", "up", "use", "was", "we", "went", "were", "what",
    "when", "where", "which", "who", "why", "will", "with", "would", "you", "your",
    "been", "being", "came", "come", "comes", "doesn", "don", "didn", "got", "gets", "happen",
    "happened", "happens", "here", "isn", "just", "keep", "kept", "let", "like", "ll", "m", "need",
    "needs", "now", "ok", "okay", "put", "really", "s", "say", "says", "some", "t", "take", "takes",
    "tell", "took", "ve", "very", "want", "wants", "won",
}  # fmt: skip


def said_for(word: str, apart: bool = False) -> dict[str, float]:
    """Return a word, its one and many, and what makers say for it, each with what it counts.

    `apart` takes what a hyphen joins for words of their own too.
    """
    same = {word, *_one_and_many(word)}
    stems = same | {word.removesuffix("s"), word.removesuffix("ed")}
    worth = COMMON_COUNTS if stems & COMMON or re.fullmatch(r"\d{1,3}", word) else 1.0
    parts = {part for part in word.split("-") if len(part) > 3} if apart and "-" in word else set[str]()
    others = parts.union(*(group for group in SAID_TOO if stems & group))
    return {**dict.fromkeys(sorted(others), worth * OTHER_WORD), **dict.fromkeys(sorted(same), worth)}


def _one_and_many(word: str) -> set[str]:
    turned = [(a, b) for one, many in ONE_AND_MANY for a, b in ((one, many), (many, one))]
    return {word.removesuffix(a) + b for a, b in turned if word.endswith(a)}
