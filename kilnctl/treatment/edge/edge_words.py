"""What a plan says of a part that the elements can see."""

from kilnctl.model.part_view import Elements
from kilnctl.model.surveyed import Surveyed
from kilnctl.profile.segments import MOST_LOWERED_K, Soak
from kilnctl.treatment.edge.edge_forecast import TOLERANCE_K, EdgeOutlook, Over
from kilnctl.treatment.steel.temper.temper_floor import cold_warnings
from kilnctl.units import say_duration, say_point, say_rate

SHIELDS = "a closed box, a tray of sand or a plate"


# Beside the door of two invented ovens the sensor read 56 and 80 K less than the middle of the chamber.
NOT_SEEN = (
    "A sensor in a cool corner, as beside a door, does not show how hot the chamber is: survey the part's "
    "place first (`kilnctl care survey`); where it is hotter, it is no place for a thin edge"
)
NOT_LEARNED = "The oven is not learned, so how hot its elements run is a guess: learn it (`kilnctl tune`)"


def words(
    elements: Elements | None,
    soak: Soak,
    approach: EdgeOutlook,
    costs_s: float,
    learned: bool = True,
    survey: Surveyed | None = None,
) -> str:
    """Say how hot a bare edge may get, what the plan does against it, what it costs, and what helps."""
    said = [_why(elements, soak, approach) if survey is None else _measured(soak, survey)]
    if approach.gentle:
        said.append(
            f"the last stretch goes at {say_rate(approach.rates.last)}, "
            f"{say_duration(costs_s)} longer from cold"
        )
    if soak.sensor_c is not None:
        lowered_k, most_k = soak.at_c - soak.sensor_c, approach.most.peak_k
        about_k = min(max(approach.usual.peak_k, 0.0), most_k) - lowered_k
        said.append(
            f"the sensor is held at {say_point(soak.sensor_c)}: a bare part reaches about "
            f"{say_point(soak.at_c + about_k)}, {say_point(soak.at_c + most_k - lowered_k)} at most. "
            "Test its hardness; a temper can be done again higher"
        )
    if survey is not None:
        return "; ".join(said)
    return ". ".join(["; ".join(said), *(() if learned else (NOT_LEARNED,)), _remedy(elements), NOT_SEEN])


def surveyed_on(survey: Surveyed) -> str:
    """Say which survey the plan counts with: of which day, and at which temperature."""
    day = f" of {survey.day}" if survey.day else ""
    return (
        f"the survey{day} at {say_point(survey.measured_at_c)} counts: by it the hottest place is "
        f"{survey.hot_k:+.0f} K at {say_point(survey.at_c)}. Survey again after any change of the oven"
    )


def never_surveyed(at_c: float, old: Surveyed | None) -> str:
    """Say that nobody knows how hot the part's place is, and why an `old` survey does not count."""
    if old is not None:
        return (
            f"the survey of {old.day} at {say_point(old.measured_at_c)} no longer counts: {old.ended}. "
            "Survey the part's place again (`kilnctl care survey`), or test each part's hardness"
        )
    return (
        f"no survey near {say_point(at_c)}: the sensor tells its own place only, and learning the oven tells "
        "no other. Survey the part's place (`kilnctl care survey`), or test each part's hardness"
    )


def _measured(soak: Soak, survey: Surveyed) -> str:
    way_k, side = survey.way_k, "above" if survey.hot_k >= 0.0 else "below"
    way = "" if way_k is None or way_k <= survey.hot_k else f", {way_k:+.0f} K on the way"
    hot = f"{abs(survey.hot_k):.0f} K {side} {say_point(soak.at_c)}"
    cold = "; no part gets hotter than that" if survey.hot_k < -TOLERANCE_K and soak.sensor_c is None else ""
    return f"with the sensor there the hottest surveyed place is {hot} in the soak{way}{cold}"


def too_low(soak: Soak, survey: Surveyed, lowered_k: float) -> str:
    """Say why no plan holds a sensor as low as a survey asks for."""
    return (
        f"{_measured(soak, survey)}: the sensor would be held at {say_point(soak.at_c - lowered_k)}, and "
        f"{MOST_LOWERED_K:.0f} K below its goal is the most. Survey the part's place at this temperature, or "
        "move the oven's sensor to where it shows the chamber"
    )


def cold_sensor(soak: Soak) -> tuple[str, ...]:
    """Say that what is no hotter than a lowered sensor would not be tempered, where that is so.

    A snap temper is none in any place.
    """
    if soak.sensor_c is None or soak.purpose != "temper" or cold_warnings(soak.at_c):
        return ()
    told = f"the sensor is held at {say_point(soak.sensor_c)}, and a part in a cooler place is no hotter"
    return tuple(f"{told}: {said}. Test its hardness" for said in cold_warnings(soak.sensor_c))


def _why(elements: Elements | None, soak: Soak, approach: EdgeOutlook) -> str:
    most = f"{max(approach.most.peak_k, 0.0):.0f} K"
    if elements not in ("open", None):
        return f"the chamber runs ahead of its sensor: a thin edge passes the goal by {most} on the way"
    open_ = elements == "open"
    sees = (
        "the part faces the elements" if open_ else "the oven file does not say how its elements are mounted"
    )
    usual_k = approach.usual.peak_k
    rule = f"about {usual_k:.0f} K" if usual_k > 1.0 else "little as a rule"
    return f"{sees}: with the sensor at {say_point(soak.at_c)} a bare thin edge may be {most} hotter ({rule})"


def _remedy(elements: Elements | None) -> str:
    if elements not in ("open", None):
        return "It costs time only"
    tells = "" if elements == "open" else 'Write elements = "open", "plate", "muffle", "embedded" or "fan". '
    shields = f"Estimates: shield the part with {SHIELDS} (common practice)"
    return f'{tells}{shields}, and write shield = "box" in the temper: then it reaches its goal'


def ceiling_words(soak: Soak, usual: Over, most: Over, ceiling_c: float) -> str:
    """Say that the skin of a part in sight of the elements passes what its steel bears."""
    held, peak = say_point(soak.at_c + usual.settled_k), say_point(soak.at_c + most.peak_k)
    return (
        f"the part faces the elements: its skin may be held at {held} and reach {peak} on the way "
        f"(estimates), above the {say_point(ceiling_c)} that this steel's card allows. Put it away from the "
        f"elements, or shield it with {SHIELDS}"
    )
