"""The words and numbers between the furnace and the temper, judged by what the trade says.

A hardened part is brittle as glass until it is tempered. A blade still gives by hand above about 400 degF
(204 degC), stiffens as it turns to martensite and is more than nine tenths turned at 200 degF (knifemaker
forums on straightening; common practice): so it leaves the oil in time for the clamp, and nobody bends it
later. Data sheets of oil-hardening tool steel: quench to 65-95 degC, then temper. Heat of the part: EN
1993-1-2:2005 clause 3.4.1.2, integrated here by scipy.
"""

import re
from functools import cache
from itertools import cycle

import pytest
from scipy.integrate import quad
from scipy.optimize import brentq
from trade_plans import FURNACE, OVEN, bench, planned, profiled

from kilnctl.config.home import bundled, known
from kilnctl.errors import ProfileError
from kilnctl.profile.segments import Operator, Profile
from kilnctl.treatment.job_file import load_job
from kilnctl.treatment.planning import Plan
from kilnctl.treatment.recipe.recipes import load_recipe
from kilnctl.treatment.segments.card_cautions import caution_warnings
from kilnctl.treatment.segments.segment_builders import PlanFor
from kilnctl.treatment.steel.quenching import Bath, bath_after_each_c
from kilnctl.treatment.steel.steels import load_steel

GRADES = sorted(known("steels"))
HOT_C = 60.0
WEAR = ("gloves", "face shield", "tongs")


def hardening(section: str, **harden: object) -> tuple[tuple[dict[str, object], ...], dict[str, object]]:
    doing = {"do": "harden", "protection": "foil", **harden}
    chain = (doing, {"do": "temper", "oven": "x", "at": "200 C"})
    return chain, {"section": section, "surface": "foil"}


def hardened(steel: str, section: str, **harden: object) -> Plan:
    chain, keys = hardening(section, **harden)
    return planned(steel, *chain, **keys)


def steps_of(steel: str, section: str, **harden: object) -> Profile:
    """Return the same as a profile, without any forecast: the hands' steps are in it already."""
    chain, keys = hardening(section, **harden)
    return profiled(bench(steel, *chain, **keys))


def persons(made: Profile | Plan) -> list[Operator]:
    profile = made if isinstance(made, Profile) else made.profile
    return [s for s in profile.segments if isinstance(s, Operator)]


@cache
def cases() -> list[Profile]:
    """Return a hardening of every grade, thin and thick, in two of the five media in turn."""
    media = cycle(("water or brine", "fast oil", "medium oil", "plates", "still air"))
    return [
        steps_of(grade, section, medium=next(media), blades=2, reason="a trial")
        for grade in GRADES
        for section in ("2 mm", "25 mm")
        for _ in range(2)
    ]


@cache
def whatever_ships() -> list[Profile]:
    paths = sorted(bundled("recipes").glob("*.toml"))
    recipes = [(load_recipe(path), path.read_text()) for path in paths]
    return [
        profiled(PlanFor(recipe, load_steel(recipe.steel) if recipe.steel else None, oven))
        for recipe, text in recipes
        for oven in (FURNACE, OVEN)
        if oven.name in text
    ]


def test_nobody_bends_what_is_hard_and_untempered() -> None:
    """Straightening is asked for at a clamp step only, and never where the bath goes on to hand-warm."""
    for made in cases() + whatever_ships():
        steps = persons(made)
        for n, step in enumerate(steps):
            asks = re.search(r"(?<!not )(?<!never )straighten", step.say, re.IGNORECASE)
            if step.step != "clamp":
                assert asks is None or "not" in step.say[: asks.start()][-40:], step.say
                continue
            quench = steps[n - 1]
            assert quench.step == "quench", "the clamp comes straight after its own quench"
            assert "by hand" not in quench.say, quench.say
            assert "at once" in step.say


def test_each_blade_has_its_own_clamp_before_the_next_is_quenched() -> None:
    made = steps_of("O1", "3.5 mm", blades=3)
    names = [s.step for s in persons(made)]
    assert names == ["quench", "clamp"] * 3 + ["check", "confirm"]
    clamps = [s for s in persons(made) if s.step == "clamp"]
    assert [s.hold_c for s in clamps[:2]] == [s.hold_c for s in persons(made) if s.step == "quench"][:2]
    assert clamps[-1].hold_c is None, "no heat for an empty furnace"


@pytest.mark.parametrize(("steel", "section"), [("1095", "25 mm"), ("W1", "20 mm"), ("5160", "12 mm")])
def test_a_full_quench_is_not_clamped(steel: str, section: str) -> None:
    """Data sheets: oil to 65-95 degC, then temper. What is warped then waits for the temper."""
    made = steps_of(steel, section, medium="water or brine" if steel == "W1" else "medium oil")
    assert [s.step for s in persons(made)] == ["quench", "check", "confirm"]  # the last: to the other oven
    quench, check, _ = persons(made)
    assert "65-95 °C" in quench.say
    assert "never straighten" in check.say.lower()


def test_whoever_faces_the_heat_is_told_what_to_wear() -> None:
    """At every step with the furnace hot or the part hot: gloves, face shield, tongs (common practice)."""
    for made in cases() + whatever_ships():
        for n, segment in enumerate(made.segments):
            if not isinstance(segment, Operator) or made.steel is None:
                continue
            if segment.step in ("quench", "air cool") or (segment.hold_c or 0.0) > HOT_C + 90.0:
                assert all(word in segment.say.lower() for word in WEAR), f"step {n + 1}: {segment.say}"


def test_the_caution_is_the_mediums() -> None:
    for made in cases():
        for step in persons(made):
            if step.step != "quench":
                continue
            says = step.say.lower()
            assert ("burning oil" in says) is ("oil" in step.medium), step.say
            assert ("spits" in says) is (step.medium == "water or brine"), step.say
            if step.medium == "water or brine":
                assert re.search(r"\boil\b", says) is None, step.say


@pytest.mark.parametrize(
    ("steel", "section"), [("1084", "8 mm"), ("1095", "10 mm"), ("W1", "20 mm"), ("W2", "8 mm")]
)
def test_water_is_never_chosen_in_silence(steel: str, section: str) -> None:
    """Cards: water or brine with great care, cracks (bladesmith data pages)."""
    with pytest.raises(ProfileError, match=r'water.*crack.*medium = "water or brine"'):
        planned(steel, {"do": "harden"}, {"do": "temper", "at": "200 C", "oven": "x"}, section=section)
    made = hardened(steel, section, medium="water or brine")
    assert any("crack" in text for text in made.warnings)


def test_oil_above_the_cards_section_is_warned_of() -> None:
    """1084: fast oil to 6.35 mm (bladesmith data pages)."""
    assert any("6.35 mm" in text for text in hardened("1084", "12 mm", medium="fast oil").warnings)
    assert not any("6.35 mm" in text for text in hardened("1084", "5 mm").warnings)


@pytest.mark.parametrize(("steel", "section"), [("1075", "25 mm"), ("1084", "4 mm"), ("W1", "4 mm")])
def test_an_unknown_edge_is_taken_as_1_mm(steel: str, section: str) -> None:
    """Two to three seconds are sound practice; a 1 mm edge alone from 800-830 degC is at 760 in 1.5-3 s."""
    made = hardened(steel, section, medium="fast oil")
    assert any("taken as 1 mm" in note for note in made.notes)
    quench = persons(made)[0]
    assert quench.transfer_s is not None
    assert 1.0 <= quench.transfer_s <= 3.3


def test_thick_places_are_judged_by_their_skin() -> None:
    """25 mm from 830 degC: the skin is at 760 before one lump would be (textbook balance, by scipy)."""
    made = hardened("5160", "25 mm", at="830 C", medium="medium oil")
    known_edge = planned(
        "5160",
        {"do": "harden", "at": "830 C", "medium": "medium oil"},
        {"do": "temper", "at": "200 C", "oven": "x"},
        section="25 mm",
        thinnest="25 mm",
    )
    assert (persons(made)[0].transfer_s or 99.0) < 3.5

    def seconds_per_k(t: float) -> float:
        radiated = 0.8 * 5.670374419e-8 * ((t + 273.15) ** 4 - 293.15**4)
        return 7850.0 * 590.0 * 0.0125 / (radiated + 10.0 * (t - 20.0))

    lump_s, _ = quad(seconds_per_k, 760.0, 830.0)
    assert 0.5 * lump_s < (persons(known_edge)[0].transfer_s or 0.0) < 0.95 * lump_s


# --- the oil ----------------------------------------------------------------------------------------


def en_specific_heat(at_c: float) -> float:
    """EN 1993-1-2:2005, 3.4.1.2, written out again."""
    if at_c < 600:
        return 425 + 7.73e-1 * at_c - 1.69e-3 * at_c**2 + 2.22e-6 * at_c**3
    if at_c < 735:
        return 666 + 13002 / (738 - at_c)
    return 545 + 17820 / (at_c - 731) if at_c < 900 else 650.0


def mixed_c(oil_kg: float, oil_c: float, blade_kg: float, blade_c: float) -> float:
    """Return where oil (2.0 kJ/kgK, textbook value of mineral oil) and blade meet, by scipy."""

    def missing(t: float) -> float:
        given, _ = quad(
            en_specific_heat, t, blade_c, points=[p for p in (600, 735) if t < p < blade_c], limit=200
        )
        return oil_kg * 2000.0 * (t - oil_c) - blade_kg * given

    return float(brentq(missing, oil_c, 400.0))


@pytest.mark.parametrize(
    ("oil_kg", "blade_kg", "blade_c", "blades"),
    [(4.0, 0.30, 830.0, 6), (8.0, 0.12, 802.0, 3), (10.0, 1.5, 870.0, 1)],
)
def test_the_oil_takes_the_heat_of_transformation_too(
    oil_kg: float, blade_kg: float, blade_c: float, blades: int
) -> None:
    expected, at_c = [], 50.0
    for _ in range(blades):
        at_c = mixed_c(oil_kg, at_c, blade_kg, blade_c)
        expected.append(at_c)
    found = bath_after_each_c(Bath(oil_kg, 50.0, 180.0), blade_kg, blade_c, blades)
    assert found == pytest.approx(expected, abs=0.3)


@pytest.mark.parametrize("blade_c", [815.0, 845.0])
def test_a_gallon_a_pound(blade_c: float) -> None:
    """Outside: a gallon of oil to a pound of parts warms about 38 degC (70 degF), heat-treat trade magazine;
    density 0.87 kg/l, a hardening heat of carbon steel.
    """
    oil_kg, part_kg = 3.785 * 0.87, 0.4536
    (warm_c,) = bath_after_each_c(Bath(oil_kg, 50.0, 180.0), part_kg, blade_c, 1)
    assert warm_c - 50.0 == pytest.approx(38.0, abs=4.0)


# --- what the card says, where it binds -------------------------------------------------------------


def test_foil_and_plates_and_cold() -> None:
    made = load_job(known("recipes")["plane-iron-a2"], FURNACE)
    says = [s.say for s in persons(made)]
    assert any("foil" in s.say.lower() for s in persons(made) if s.step == "quench")
    assert any("cut the foil" in s.say.lower() for s in persons(made) if s.step == "check")
    whole = " ".join([*says, *made.warnings, *(row.why for row in made.rows)])
    assert "nothing that burns inside the foil" in whole
    cold = load_job(known("recipes")["marking-knife-aeb-l"], OVEN)
    assert "no soak needed" in next(s.say for s in persons(cold) if s.step == "cold")


@pytest.mark.parametrize("grade", GRADES)
def test_every_caution_of_a_card_reaches_the_person(grade: str) -> None:
    """In the text of a step or among the warnings of a chain that has every treatment the card knows.

    What a card says of its medium is not said where the part leaves the bath early for a clamp.
    """
    steel = load_steel(grade)
    chain: list[dict[str, object]] = [{"do": "normalise"}] if steel.normalise else []
    medium = steel.quench[0].medium
    chain += [{"do": "harden", "protection": "foil", "medium": medium}]
    chain += [{"do": "cold treatment"}] if steel.cold else []
    made = profiled(bench(grade, *chain, {"do": "temper", "at": "200 C"}, section="2 mm", surface="foil"))
    whole = " ".join(s.say + " " + s.reason for s in persons(made))
    whole += " ".join(caution_warnings(made.segments, steel, "foil")) + " ".join(
        s.reason for s in made.segments
    )
    for caution in steel.cautions_for("foil"):
        cool = caution.above_c is not None and caution.above_c >= 200.0  # it binds at hotter tempers only
        assert cool or caution.at == "card" or caution.say.rstrip(".") in whole, caution.say
    clamped = any(step.step == "clamp" for step in persons(made))
    for claim in (*(q for q in steel.quench if q.medium == medium and not clamped), *steel.cold):
        assert claim.note in whole, claim.note


def test_a_cold_treatment_comes_before_the_temper_in_words_too() -> None:
    made = load_job(known("recipes")["marking-knife-aeb-l"], FURNACE)
    check = next(s for s in persons(made) if s.step == "check")
    assert "temper at once" not in check.say
    assert "cold" in check.say
    assert not any("temper within the hour" in note for note in made.notes)
