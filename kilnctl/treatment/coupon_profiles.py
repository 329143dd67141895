"""The coupons of an unknown steel as profiles: rising heats in the furnace, rising tempers in the oven."""

from typing import Any

from kilnctl.config.oven import Oven
from kilnctl.errors import ProfileError
from kilnctl.profile.segments import Operator, Profile, Ramp, Soak
from kilnctl.tomlfile import made
from kilnctl.treatment.coupons import TEMPER_TIME, Coupons
from kilnctl.treatment.plan_checks import check_envelope
from kilnctl.treatment.segments.quench_steps import CAUTIONS, OIL_CAUTION
from kilnctl.treatment.segments.segment_builders import (
    HOT_RATE_C_PER_H,
    SETTLE_S,
    WEAR,
    Words,
    person,
    ramp,
    soak,
)
from kilnctl.treatment.steel.sourced_values import PRACTICE
from kilnctl.units import parse_duration_s

_WAIT_S = 1800.0
Steps = list[Ramp | Soak | Operator]


def harden_profile(coupons: Coupons, oven: Oven) -> Profile:
    """Return the run that quenches one coupon from each heat, the coolest first. Raises RunRefused."""
    steps: Steps = []
    heats = sorted(coupons.coupon, key=lambda c: (c.at_c, c.medium == "still air"))
    for n, coupon in enumerate(heats, 1):
        words = Words(
            "harden", f"coupon {n}: heat", "rising heats, so that no coupon is overheated", PRACTICE
        )
        load = f"Put coupon {n} in and shut the door. {WEAR} Answer done."
        bath = coupon.medium if coupon.medium != "still air" else "still air, hung, nothing touching it"
        caution = CAUTIONS.get(coupon.medium, OIL_CAUTION)
        say = (
            f"Coupon {n} out, straight into {bath}; mark it {coupon.at_c:.0f}. {WEAR} {caution} Answer done."
        )
        step = "air cool" if coupon.medium == "still air" else "quench"
        medium = "" if step == "air cool" else coupon.medium
        steps += [
            ramp(coupon.at_c, words, HOT_RATE_C_PER_H),
            soak(
                coupon.at_c, SETTLE_S, words.say(f"oven settles for coupon {n}", words.reason), clock="oven"
            ),
            person("load", load, _WAIT_S, words.say(f"load coupon {n}"), coupon.at_c),
            soak(
                coupon.at_c, coupon.soak_s, words.say(f"coupon {n}: soak", "the heat that is tried", PRACTICE)
            ),
            person(step, say, _WAIT_S, words.say(f"{step} of coupon {n}"), coupon.at_c, medium),
        ]
    return _profile(coupons, "harden", oven, steps)


def temper_profile(coupons: Coupons, oven: Oven) -> Profile:
    """Return the run that tempers pieces of the best coupon, one out after each heat. Raises RunRefused."""
    steps: Steps = []
    for n, trial in enumerate(coupons.temper, 1):
        words = Words("temper", f"piece {n}: heat", "rising, so that the cooler heats hardly count", PRACTICE)
        say = f"Take piece {n} out and mark it {trial.at_c:.0f}. The oven is hot: {WEAR.lower()} Answer done."
        time_s = parse_duration_s(TEMPER_TIME)
        steps += [
            ramp(trial.at_c, words, HOT_RATE_C_PER_H),
            soak(
                trial.at_c,
                time_s,
                words.say(f"piece {n}: soak", "the temper that is tried", PRACTICE),
                3.0,
                "oven",
            ),
            person("confirm", say, _WAIT_S, words.say(f"take piece {n} out"), trial.at_c),
        ]
    return _profile(coupons, "temper", oven, steps)


def _profile(coupons: Coupons, what: str, oven: Oven, steps: Steps) -> Profile:
    marked = coupons.name if coupons.proven else f"{coupons.name} (unproven)"
    keys: dict[str, Any] = {
        "name": f"{marked}: {what} coupons",
        "oven": oven.name,
        "section": f"{coupons.section_mm:g} mm",
        "doubt": "" if coupons.proven else "unproven: an unknown steel",
        "segment": tuple(steps),
    }
    profile = made(keys, Profile, ProfileError, coupons.name)
    check_envelope(profile, oven)
    return profile
