"""What is told first of fire, smoke and a vessel that may burst: they outrank the place that is named."""

from kilnctl.guide.words_of_need import ASKS, FLAMES, OIL, PLACE, WIRED, Emergency

FIRES = (
    Emergency(
        "the-oil-burns",
        "The oil is burning",
        (
            (OIL, r"\b(on fire|fire (in|on)|flaming|alight|ablaze|caught fire|flames|burst into)\b"),
            (r"\b(oil|tank) (is |are )?(burns|burning)\b|\bburning oil\b",),
            (OIL, r"\b(tipped|spilled|spilt|fell) (over|out)?.*\b(burning|burns|flames|fire)\b"),
            (
                OIL,
                r"\b(threw|poured|sprayed|thrown|chucked) (\w+ )?water\b",
                rf"\bwent up\b(?! to)|whoosh|explo|{FLAMES}",
            ),
        ),
        r"\b(second|normal|small|little|blanket|extinguisher|class)\b",
    ),
    Emergency(
        "workshop",
        "the oven itself",
        (
            (
                WIRED,
                r"\b(on fire|fire (in|inside|at|from)|in flames|ablaze|alight|burst into"
                r"|ca(ught|tches) fire)\b",
            ),
            (
                WIRED,
                r"\b(flames?|fire) (\w+ )?(in|inside|out|from|at|come|coming|shoot\w*)\b"
                r"|\bflames\b.*\b(from|out)\b",
            ),
            (WIRED, r"\b(smoke|sparks) and (fire|flames)\b|\b(is|are|.s) burning\b(?! (hot|in|off|out))"),
        ),
        rf"{ASKS}|\b(forge|burner|pilot|gas|propane|torch|charcoal|colou?r|smell\w*|risk|extinguisher|blanket|normal|small|little"
        r"|tank|quench)\b",
    ),
    Emergency(
        "workshop",
        "a fire in the workshop",
        (
            (
                PLACE,
                r"\b(on fire|(is|are|.s|now) burning|caught fire|catching fire|alight|ablaze)\b"
                r"|\b(in flames|went up)\b",
            ),
        ),
        rf"{ASKS}|\b(extinguisher|blanket|risk|insurance|after a|normal|small|price)\b",
    ),
    Emergency(
        "workshop",
        "smoke pours",
        (
            (
                r"\b(oven|kiln|furnace)\b",
                r"\bsmoke\b.*\b(pour|billow|gush)\w*|\b(pour|billow|gush)\w*.*\bsmoke"
                r"|\b(thick|black|dense|heavy|lots of|so much) smoke\b",
            ),
        ),
        rf"{ASKS}|\b(forge|normal|little|first|oil tank)\b",
    ),
    Emergency(
        "cold-treatment",
        "A vessel with dry ice",
        (
            (
                r"\bdry.?ice\b|\bnitrogen\b",
                r"\b(swell\w*|swollen|bulg\w*|balloon\w*|about to burst|going to burst)\b"
                r"|\b(screwed|sealed|capped|shut|closed)\b.*\b(lid|cap|bottle|flask|jar|tight)\b"
                r"|\b(lid|cap) (is |was )?(shut|tight|stuck|frozen|screwed)",
            ),
        ),
        ASKS,
    ),
)
