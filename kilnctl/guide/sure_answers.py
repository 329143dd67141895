"""Questions whose words, together, ask for one passage, while each of them alone leads elsewhere."""

import re
from dataclasses import dataclass

from kilnctl.guide.hardness_asked import which_way

POWER_WENT = (
    r"\b(power|electricity|mains|lights?|supply|grid)( (was|were|is|has|have|just|suddenly|been))*"
    r" (cut|out|off|fail\w*|gone|lost|went|down|dropped|died)\b|\b(blackout|outage|power (cut|failure))\b"
)
HARDENS = r"\b(soak\w*|harden\w*|austeniti\w*|at [789]\d\d|at 1[01]\d\d)\b"
SENSOR = r"\b(type [bejknrst]|[bejknrst] (type|wire)|thermocouples?|couples?|probe|sensor|thermometer)\b"
HOW_EXACT = (
    r"\b(accura\w*|precis\w*|tolerance|how (far off|exact|wrong)"
    r"|how many degrees .*\b(wrong|off)|how much .*\berrs?)\b"
)
SWINGS = (
    r"all over the place|\b(oscillat\w*|hunts|hunting|unstable|swings|swinging)\b"
    r"|\bup and down all"
    r"|\b(won.?t|does not|doesn.?t|never|not) (settle|hold steady|keep steady)\w*"
    r"|\bcycles (up and down|wildly)"
)


@dataclass(frozen=True, slots=True)
class SureAnswer:
    """The passages of a topic that answer; the patterns that a question must hold and must not hold.

    And the passage of another topic that is not told beside them.
    """

    topic: str
    begins: tuple[str, ...]
    asked: tuple[str, ...]
    but: str = r"$^"
    leaves_out: tuple[str, str] = ("", "")


WRONG = "when-it-went-wrong"
HARDER = (WRONG, "It came out harder than I wanted")
TOO_SOFT = SureAnswer(
    WRONG, ("It files hard, but the tester", "The file bites", "Tempered too hot"), (), leaves_out=HARDER
)
TOO_HARD = SureAnswer(WRONG, HARDER[1:], ())
TEMPERED_AT = r"\btemper\w*\b.*\b(?:at|to) (\d{3})\b.*\binstead of (\d{3})\b"
TEMPERED_HOT, TEMPERED_COLD = (
    SureAnswer(WRONG, (begins,), ()) for begins in ("Tempered too hot", "Too cold, or too short")
)
FAULT = (
    r"\b(warped|cracked|blistered|bent|twisted|chipped|snapped|shattered|broke|rusted|delaminated)\b"
    r"|\b(cracks|blisters)\b"
)
STAYED_SOFT = (
    r"\b(came|come|comes|is|are|was|still|too|stays?|stayed|remains?)( \w+){0,4}? soft\b"
    r"|\bnot hard( enough)?\b|\b(did|does|will|would|do)(n.?t| not) (get |go |come out )?hard(en)?\b"
)
NO_STAYED_SOFT = (
    r"\b(spots?|stripes?|patch\w*|temper\w*|anneal\w*|drill\w*|tang|back|spine|corner|tip|too hot|overshot"
    r"|overheated|files hard|handle|eye|poll|jaws?|iron|copper|brass|plates?|how|can|may)\b"
)
FUEL = (
    r"\b(petrol|gasoline|diesel|kerosene|paraffin|white spirit|turpentine|thinner|solvent|acetone|alcohol"
    r"|lighter fluid)\b"
)
DOOR = ("when-it-went-wrong", "The door stood open in the soak")  # it has another answer for another mishap
SURE = (
    SureAnswer(
        "after-a-power-cut",
        ("anything that austenitises",),
        (POWER_WENT, HARDENS),
        r"\b(temper\w*|flicker\w*|door)\b",
        DOOR,
    ),
    SureAnswer(
        "bench-questions",
        ("How far off can 830 °C be with ordinary K wire?", "How far off can 830 °C be with special wire"),
        (HOW_EXACT, SENSOR),
        r"\b(since|after|hours|years?|test|check|differ\w*|two|swapped|reversed|infrared|pt100|survey)\b",
    ),
    SureAnswer(
        "bench-questions",
        ("Where does water boil at 650 m?",),
        (
            r"\bboil(s|ing)?\b",
            r"\bwater\b",
            r"\b(reads?|shows?|says?|gives|reading)\b|\b(9\d|10\d)\b",
            SENSOR,
        ),
        r"\bquench|\bapart\b",
    ),
    SureAnswer(
        "oven-trouble",
        ("it overshoots, swings or hunts",),
        (SWINGS, r"\b(oven|kiln|furnace|temperature|controller|reading|heat|it)\b|^oscillat|^all over"),
        r"\b(power|mains|lights?|door|kitchen|hardness|hrc|tester|temper(ed)?|blades?)\b",
    ),
    SureAnswer(
        "choose-a-steel",
        ("May I thin quench oil",),
        (FUEL, r"\boil\b", r"\b(thin\w*|mix\w*|dilut\w*|add\w*|blend\w*|faster|in (the|my) (quench )?oil)\b"),
        r"\b(clean\w*|degreas\w*|wip\w*|wash\w*|fire|near|beside)\b",
    ),
    SureAnswer(
        "choose-a-steel",
        ("May I thin quench oil",),
        (r"\bquench\w*\b", rf"\b(in|with|into) (a |some )?{FUEL}"),
        r"\b(clean\w*|degreas\w*|wip\w*|wash\w*|ice|cold)\b",
    ),
    SureAnswer(
        "leave-a-temper-alone",
        ("May it temper overnight",),
        (
            r"\b(overnight|asleep|sleep|sleeping|in bed|to bed)\b",
            r"\b(oven|kiln|furnace|temper\w*|harden\w*|heat|run\w*|soak)\b",
        ),
        r"\b(forgot|untempered|wait\w*|stands?|stood|above|upstairs|baby|child\w*|family|neighbou?rs?|room|bedroom"
        r"|cool\w*|anneal\w*|quenched|crack\w*|dry\w*|freezer|somebody|someone|until|tomorrow|smoulder\w*)\b",
    ),
    SureAnswer(
        "before-the-heat",
        ("choppers, machetes",),
        (
            r"\b(choppers?|machetes?|camp knife|camp knives|parangs?|kukris?|big (knife|blade))\b",
            r"\b(hard|hardness|hrc|rockwell)\b",
        ),
        r"\b(why|came|quench\w*|crack\w*|warp\w*|soft)\b",
    ),
    SureAnswer(
        "odd-parts",
        ("Write the core",),
        (
            r"\bsan.?mai\b|\blaminat\w*|\bclad\w*|\bstainless (sides|jacket)",
            r"\b(cores?|heats?|temperature|temper|harden)\b",
        ),
        r"\b(warp\w*|bent|delam\w*|weld\w*|crack\w*|bubbl\w*|blister\w*|line|etch\w*)\b",
    ),
    SureAnswer(
        "look-after-an-oven",
        ("May I use cooking salt",),
        (
            r"\bsalt\b",
            r"\b(fixed point|calibrat\w*|801|check\w*|reference)\b",
            rf"{SENSOR}|\b(fixed point|801)\b",
        ),
        r"\b(bath|pot|quench\w*|brine)\b",
    ),
    SureAnswer(
        "look-after-an-oven",
        ("Is my K couple still right",),
        (
            SENSOR,
            r"\b(check\w*|test\w*|trust|verify|still right|ice|boiling)\b",
            r"\b(years?|months of|old|aged|worn)\b|\b(9\d\d|1[01]\d\d)\b",
        ),
        r"\b(how far|how much|infrared|pt100|two|tester|swapped)\b",
    ),
    SureAnswer(
        WRONG,
        ("Tempered too hot",),
        (
            r"\btemper(ed)?\b",
            r"\b(tempered|temper)( \w+){0,3}? too (hot|high)\b"
            r"|\b(at|to) (2[4-9]\d|[3-6]\d\d)\b(?! ?°?f).*\b(mistake|accident|instead)",
        ),
        r"\b(door|how|cannot)\b",
    ),
    SureAnswer(
        WRONG,
        ("Why did my blade warp",),
        (
            r"\b(bent|warped|bowed|twisted|crooked)\b",
            r"\b(not( yet)? tempered|untempered|before (the )?temper\w*|after (the |a )?quench|in the quench"
            r"|out of the (oil|quench|bath))\b",
        ),
        r"\b(after (the )?temper\w*|plates)\b",
        (WRONG, "It is bent, and tempered already"),
    ),
    SureAnswer(
        WRONG, ("The blade cracked",), (r"\bcracked (in|after|during) (the )?(water|oil|quench|brine)\b",)
    ),
    SureAnswer(WRONG, ("The file bites",), (STAYED_SOFT,), NO_STAYED_SOFT),
    SureAnswer(WRONG, ("Tempered too hot",), (r"\bsoft after (the |a )?temper(ing)?\b",), r"\b(how|file)\b"),
    SureAnswer(
        "marks-on-the-steel", ("blisters, bubbles",), (r"\bblister(s|ed)\b",), r"\b(hand|skin|finger|paint)\b"
    ),
)


def sure_answer(question: str) -> SureAnswer | None:
    """Return what answers a question for sure; None where the search must find it."""
    text = _plain(question)
    if way := which_way(text):
        return TOO_SOFT if way == "soft" else TOO_HARD
    if tempers := re.search(TEMPERED_AT, text):
        return TEMPERED_HOT if int(tempers[1]) > int(tempers[2]) else TEMPERED_COLD
    for sure in SURE:
        if all(re.search(words, text) for words in sure.asked) and not re.search(sure.but, text):
            return sure
    return None


def tells_of_a_fault(question: str) -> bool:
    """Return whether a part is said to have come out wrong: its cause is wanted before its card."""
    return bool(re.search(FAULT, _plain(question)))


def _plain(question: str) -> str:
    return " ".join(question.lower().replace("\N{RIGHT SINGLE QUOTATION MARK}", "'").split())
