"""Questions whose words, together, ask for one passage, while each of them alone leads elsewhere."""

import re
from dataclasses import dataclass

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
)


def sure_answer(question: str) -> SureAnswer | None:
    """Return what answers a question for sure; None where the search must find it."""
    text = " ".join(question.lower().split())
    for sure in SURE:
        if all(re.search(words, text) for words in sure.asked) and not re.search(sure.but, text):
            return sure
    return None
