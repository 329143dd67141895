"""What is checked of a profile against its oven and its steel, before anything is heated."""

from dataclasses import dataclass

from kilnctl.config.home import known
from kilnctl.config.oven import LIMIT_MARGIN_K, Oven, load_oven
from kilnctl.errors import ProfileError, RunRefused
from kilnctl.profile.segments import Cool, Profile, Purpose, Soak, goal_c, say_goal
from kilnctl.treatment.segments.segment_builders import ABOVE_ROOM_K
from kilnctl.treatment.steel.cooling_names import network_warning
from kilnctl.treatment.steel.hardness import expected_hrc
from kilnctl.treatment.steel.steels import Steel, ac1_c, dissolved_c, span_c
from kilnctl.treatment.steel.temper.temper_floor import SOUND_FROM_C, cold_warnings
from kilnctl.treatment.steel.windows import (
    ROUNDED_K,
    relief_warnings,
    slip,
    temper_warnings,
    window_warnings,
)
from kilnctl.units import c_from_f, say_duration, say_point, written_in_c

ABOVE_DISSOLVED_K = 20.0
# A temper without a goal is taken for an edge's where the steel is one of edges; softer, °F may be meant.
EDGE_HRC, SOFT_EDGE_HRC, EDGE_CARBON = (57.0, 64.0), 55.0, 0.75
LONG_SOAK, SHORT_TEMPER = 2.0, 0.5  # of what the card says
# Round figures under every card's heats, to tell a slip of unit.
LEAST_OF_C: dict[Purpose, float] = {
    "harden": 700.0,
    "normalise": 700.0,
    "anneal": 600.0,
    "stress relief": 500.0,
}
LONG_NORMALISE_S, HIGHEST_GATE_C = 3600.0, 80.0


@dataclass(frozen=True, slots=True)
class Warn:
    """Something a person should read before the heat; `segment` is its place in the profile, None for all."""

    text: str
    segment: int | None = None


def check_envelope(profile: Profile, oven: Oven) -> None:
    """Refuse a profile that this oven may not run.

    Raises RunRefused: made for another oven, or a segment above what the oven may do.
    """
    if profile.oven is not None and profile.oven != oven.name:
        raise RunRefused(f'{profile.name} is made for the oven "{profile.oven}", not for "{oven.name}"')
    highest_c = oven.highest_goal_c
    for n, segment in enumerate(profile.segments, 1):
        goal = goal_c(segment)
        if goal is not None and goal > highest_c:
            asks = f"{place_of(profile, n - 1)} asks for {say_point(goal)}"
            limit = _by_what(oven)
            raise RunRefused(
                f"{asks}; {oven.name} may go to {say_point(highest_c)} at most: {limit}"
                f"{_as_fahrenheit(goal, highest_c, segment.purpose)}{_ovens_for(goal)}"
            )
        if isinstance(segment, Cool) and segment.to_c < oven.ambient_c + ABOVE_ROOM_K / 2:
            raise RunRefused(
                f"{place_of(profile, n - 1)} cools to {say_point(segment.to_c)}, but the room is at "
                f"{say_point(oven.ambient_c)}: it would never end"
            )


def _by_what(oven: Oven) -> str:
    """Return what an oven's highest goal comes from."""
    if oven.highest_goal_c < oven.limit_c - LIMIT_MARGIN_K:
        return f"the highest set-point that its instrument takes, {say_point(oven.highest_goal_c)}"
    return f"its limit {say_point(oven.limit_c)} less {LIMIT_MARGIN_K:.0f} K"


def _as_fahrenheit(goal: float, highest_c: float, purpose: Purpose) -> str:
    """Return the question whether a point was written with the wrong unit, where it would then fit.

    People write round numbers: one that a table gave is not asked about. Nothing hardens below red heat.
    """
    if round(goal) % 5:
        return ""
    as_f_c, least_c = c_from_f(goal), LEAST_OF_C.get(purpose, SOUND_FROM_C)
    fits = written_in_c(goal) and least_c < as_f_c <= highest_c
    return f"; did you mean {goal:.0f} °F ({as_f_c:.0f} °C)?" if fits else ""


def _ovens_for(goal: float) -> str:
    """Return the names of the ovens that may go there."""
    ovens = [load_oven(path) for path in known("ovens").values()]
    able = [oven.name for oven in ovens if goal <= oven.highest_goal_c]
    return f"; {', '.join(able)} can" if able else ""


def check_unknown_steel(profile: Profile) -> tuple[Warn, ...]:
    """Return warnings of a profile that names no steel: what holds of every steel."""
    return tuple(
        Warn(text, n)
        for n, segment in enumerate(profile.segments)
        if isinstance(segment, Soak) and segment.purpose in ("temper", "snap temper")
        for text in cold_warnings(segment.at_c)
    )


def check_steel(profile: Profile, steel: Steel) -> tuple[Warn, ...]:
    """Return warnings of a profile against its steel. Raises ProfileError for what it must not have."""
    found: list[Warn] = []
    for n, segment in enumerate(profile.segments):
        if isinstance(segment, Soak):
            found += [Warn(text, n) for text in _soak_warnings(profile, n, segment, steel)]
        elif isinstance(segment, Cool):
            found += [Warn(text, n) for text in _cool_warnings(profile, n, steel)]
    return tuple(found)


def place_of(profile: Profile, n: int) -> str:
    """Return the place of segment n (from 0) as messages name it."""
    label = profile.segments[n].label
    return f"{profile.name}: segment {n + 1}" + (f" ({label})" if label else "")


def _soak_warnings(profile: Profile, n: int, segment: Soak, steel: Steel) -> list[str]:
    place = place_of(profile, n)
    match segment.purpose:
        case "harden":
            return _harden(place, profile, segment, steel)
        case "normalise":
            return _normalise(place, profile, segment, steel)
        case "temper" | "snap temper":
            return _temper(place, profile, n, segment, steel)
        case "stress relief":
            _below_ac1(place, segment, steel)
            return relief_warnings(place, segment.at_c, steel)
        case _:
            return []


def _harden(place: str, profile: Profile, segment: Soak, steel: Steel) -> list[str]:
    start_c, window = ac1_c(steel), span_c(steel.austenitise)
    if start_c is not None and segment.at_c < start_c:
        raise ProfileError(
            f"{place}: {say_point(segment.at_c)} is below Ac1 of {steel.grade} ({start_c:.0f} °C): "
            f"this will not harden{slip(segment.at_c, *window) if window else ''}"
        )
    found = window_warnings(place, segment.at_c, steel.austenitise, steel, "austenitise")
    gone_c = dissolved_c(steel)
    if gone_c is not None and segment.at_c < gone_c + ABOVE_DISSOLVED_K:
        found.append(
            f"{segment.at_c:.0f} °C is hardly above the end of ferrite ({gone_c:.0f} °C): soft spots"
        )
    found += _soaks_long(segment, steel, (profile.section_mm or 0.0) / 25.4)
    return found + [
        f"above {limit.low_c:.0f} °C: {limit.note or 'grain growth'} ({steel.cite(limit)})"
        for limit in steel.too_hot
        if segment.at_c > limit.low_c + ROUNDED_K
    ]


def _soaks_long(segment: Soak, steel: Steel, inches: float) -> list[str]:
    """Return a warning about a soak twice as long as every source of the card for this section, or longer."""
    found = [(c.soak_high_s + (c.per_inch_s or 0.0) * inches, c) for c in steel.austenitise if c.soak_high_s]
    if not found or segment.clock != "part":
        return []
    longest_s, longest = max(found, key=lambda each: each[0])
    if segment.soak_s < LONG_SOAK * longest_s:
        return []
    says = f"soaks {say_duration(segment.soak_s)}, longer than every source ({say_duration(longest_s)}, "
    return [f"{says}{steel.cite(longest)}): the grain grows and too much carbide dissolves"]


def _tempers_short(profile: Profile, steel: Steel) -> list[str]:
    """Return a warning about tempers that are together far shorter than one of the card."""
    rule = next(iter(steel.temper), None)
    soaks = [s.soak_s for s in profile.segments if isinstance(s, Soak) and s.purpose == "temper"]
    if rule is None or sum(soaks) >= SHORT_TEMPER * rule.time_s:
        return []
    took, usual = say_duration(sum(soaks)), say_duration(rule.time_s)
    return [f"{took} are shorter than a temper ({usual}, {steel.cite(rule)}): the part stays brittle inside"]


def _too_few_tempers(profile: Profile, n: int, steel: Steel) -> list[str]:
    """Return a warning, at the last temper, about fewer tempers than the card asks for at least."""
    rule = next(iter(steel.temper), None)
    tempers = [k for k, s in enumerate(profile.segments) if isinstance(s, Soak) and s.purpose == "temper"]
    if rule is None or len(tempers) >= rule.count_low or tempers[-1] != n:
        return []
    asks = f"the card of {steel.grade} asks for {rule.count_low} at least ({steel.cite(rule)})"
    return [
        f"{len(tempers)} temper, {asks}: the next one tempers what turned to martensite in the cooling "
        "after the first; one long temper does not"
    ]


def _hot_gate(profile: Profile, n: int) -> list[str]:
    """Return a warning about a cooling between two tempers that ends while the part is still hot."""
    segment, after = profile.segments[n], profile.segments[n + 1 :]
    before = [s.purpose for s in profile.segments[:n] if isinstance(s, Soak)][-1:]
    if before not in (["temper"], ["snap temper"]):
        return []
    again = any(isinstance(s, Soak) and s.purpose in ("temper", "snap temper") for s in after)
    if not isinstance(segment, Cool) or segment.to_c <= HIGHEST_GATE_C or not again:
        return []
    return [
        f"ends at {say_point(segment.to_c)}: what is still austenite turns only when the part is hand-warm, "
        "and stays untempered; leave the gate out, or put it at 45-65 °C (common practice)"
    ]


def _normalise(place: str, profile: Profile, segment: Soak, steel: Steel) -> list[str]:
    """Only the first of falling heats has to lie in the card's window."""
    if steel.do_not_normalise is not None:
        said = steel.cite(steel.do_not_normalise)
        raise ProfileError(f"{place}: {steel.grade} must not be normalised ({said})")
    heats = [s.at_c for s in profile.segments if isinstance(s, Soak) and s.purpose == "normalise"]
    found = []
    if segment.at_c == max(heats):
        found = window_warnings(place, segment.at_c, steel.normalise, steel, "normalise")
    gone_c = dissolved_c(steel)
    if gone_c is not None and segment.at_c < gone_c + ABOVE_DISSOLVED_K:
        says = f"{segment.at_c:.0f} °C is hardly above the end of ferrite ({gone_c:.0f} °C): not a normalise"
        found.append(says)
    if segment.soak_s > max(LONG_NORMALISE_S, LONG_NORMALISE_S * (profile.section_mm or 0.0) / 25.4):
        long = say_duration(segment.soak_s)
        found.append(
            f"soaks {long}: minutes at heat are enough, an hour per inch at most (common practice); "
            "longer, the grain grows back and the skin loses its carbon"
        )
    return found


def _temper(place: str, profile: Profile, n: int, segment: Soak, steel: Steel) -> list[str]:
    _below_ac1(place, segment, steel)
    found = temper_warnings(place, segment.at_c, steel, segment.purpose)
    found += [
        f"in the {band.low_c:.0f}-{band.high_c:.0f} °C band: {band.note or 'toughness can drop'} "
        f"({steel.cite(band)})"
        for band in steel.spoils
        if band.holds(segment.at_c)
    ]
    if segment.purpose == "temper":
        found += _tempers_short(profile, steel) + _too_few_tempers(profile, n, steel)
    return found + _goal_missed(profile, segment, steel)


def _goal_missed(profile: Profile, segment: Soak, steel: Steel) -> list[str]:
    goal = profile.goal_hrc
    expected = expected_hrc(steel, segment.at_c, segment.soak_s)
    if not expected or segment.purpose != "temper":
        return []
    low, high = min(e.low_hrc for e in expected), max(e.high_hrc for e in expected)
    if goal is None:
        asked = _goal_in_f(segment, EDGE_HRC, steel) if _soft_edge(high, steel) else ""
        return [f"expect {low:.0f}-{high:.0f} HRC: soft for an edge{asked}"] if asked else []
    if high < goal[0] - 0.5:
        says = f"softer than the goal of {say_goal(goal)}: expect {low:.0f}-{high:.0f}"
        return [f"{says}, and no cooler temper brings it back{_goal_in_f(segment, goal, steel)}"]
    if low > goal[1] + 0.5:
        return [f"harder than the goal of {say_goal(goal)}: expect {low:.0f}-{high:.0f}"]
    return []


def _soft_edge(high_hrc: float, steel: Steel) -> bool:
    return high_hrc < SOFT_EDGE_HRC and steel.carbon >= EDGE_CARBON


def _goal_in_f(segment: Soak, goal: tuple[float, float], steel: Steel) -> str:
    """Return the question whether °F was meant, where that temper would meet the goal."""
    as_f_c = c_from_f(segment.at_c)
    meant = expected_hrc(steel, as_f_c, segment.soak_s)
    fits = any(e.low_hrc - 0.5 <= goal[1] and e.high_hrc + 0.5 >= goal[0] for e in meant)
    slipped = fits and as_f_c > SOUND_FROM_C and written_in_c(segment.at_c)
    return f"; did you mean {segment.at_c:.0f} °F ({as_f_c:.0f} °C)?" if slipped else ""


def _below_ac1(place: str, segment: Soak, steel: Steel) -> list[str]:
    start_c = ac1_c(steel)
    if start_c is not None and segment.at_c > start_c - 5.0:
        raise ProfileError(
            f"{place}: {say_point(segment.at_c)} is above or too near Ac1 of {steel.grade} "
            f"({start_c:.0f} °C) for a {segment.purpose}{slip(segment.at_c, SOUND_FROM_C, start_c - 20.0)}"
        )
    return []


def _cool_warnings(profile: Profile, n: int, steel: Steel) -> list[str]:
    if profile.segments[n].purpose in ("temper", "snap temper"):
        return _hot_gate(profile, n)
    before = [s for s in profile.segments[:n] if isinstance(s, Soak)]
    start_c = ac1_c(steel)
    if profile.segments[n].purpose != "anneal" or not before or start_c is None or before[-1].at_c < start_c:
        return []
    network = network_warning(steel, before[-1].at_c)
    return [network] if network else []
