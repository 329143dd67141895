"""What a wrong couple, a wrong setting or a reversed lead would show: figure couple."""

import re
from collections.abc import Callable
from typing import Annotated, Literal

from kilnctl.cli.figure.figure_answer import FigureAnswer, say_difference, say_fine, show
from kilnctl.cli.figure.inputs import ANY_CASE, COLDEST_C, HOTTEST_C, Quantity, heat_c
from kilnctl.cli.terminal.options import Flag, Json, refuse_unused
from kilnctl.errors import ConfigError, UnitError

_MILLIVOLTS = re.compile(r"\s*([+-]?\d+(?:\.\d+)?)\s*mV\s*")
Couple = Literal["K", "J", "N", "T", "E", "R", "S", "B"]
Typed = Annotated[Couple, ANY_CASE]
COLDEST_HEAD_C, HOTTEST_HEAD_C = -40.0, 150.0
MISLEADS_K = 2.0
MEND = "heat off until it is put right, at the independent limit too: `kilnctl guide electrical-trouble`"


def couple(
    temperature: Quantity,
    wired: Typed,
    /,
    *,
    set_as: Typed | None = None,
    terminals: Quantity = "25 C",
    swapped: Flag = False,
    uncompensated: Flag = False,
    head: Quantity | None = None,
    copper_head: Quantity | None = None,
    shown: Flag = False,
    as_json: Json = False,
) -> int:
    """Turn degrees into a couple's millivolts and back; say what is shown for one wired or set wrong.

    Parameters
    ----------
    temperature
        The true temperature; with --shown what the instrument shows; or what a meter reads at the terminals,
        "32.6 mV".
    wired
        The type of couple in the oven.
    set_as
        The type that the instrument is set for; left out, the same.
    terminals
        Temperature at the instrument's terminals.
    swapped
        Plus and minus are swapped at the instrument.
    uncompensated
        The instrument assumes that its terminals are at 0 °C.
    head
        The extension lead is reversed at both ends, and its connection head is this warm.
    copper_head
        The lead from the connection head to the instrument is plain copper, and the head is this warm.
    shown
        TEMPERATURE is what the instrument shows: say how hot it truly is.
    as_json
        Print one JSON object.
    """
    from kilnctl.devices.thermocouples import copper_lead_c, millivolts, shown_c, swapped_lead_c

    junction_c, said = _beside_the_oven_c(terminals), set_as or wired
    if (match := _MILLIVOLTS.fullmatch(temperature)) is not None:
        _right(set_as, swapped, uncompensated, head, copper_head, shown)
        return show(_from_millivolts(float(match[1]), wired, junction_c), as_json)
    asked_c = heat_c(temperature)
    leads = [name for name, at in (("--head", head), ("--copper-head", copper_head)) if at is not None]
    if leads and (swapped or uncompensated or said != wired or len(leads) > 1):
        raise ConfigError(f"one fault at a time: {leads[0]} stands alone")

    def shows(at_c: float) -> float | None:
        if copper_head is not None:
            return copper_lead_c(wired, at_c, _beside_the_oven_c(copper_head), junction_c)
        if head is None:
            return shown_c(wired, said, at_c, junction_c, not uncompensated, swapped)
        return swapped_lead_c(wired, at_c, _beside_the_oven_c(head), junction_c)

    try:
        true_c = _true_c(shows, asked_c) if shown else asked_c
        found_c = shows(true_c)
        ice_mv, here_mv = (millivolts(wired, true_c, at) for at in (0.0, junction_c))
    except ValueError as e:
        raise ConfigError(f"type {wired} has no table there: {e}") from None
    fault = _faults("" if said == wired else said, swapped, uncompensated, head, copper_head)
    shows_words = "nothing: outside the instrument's table" if found_c is None else say_fine(found_c)
    rows = [("truly", say_fine(true_c)), ("shows", shows_words)][0 if shown else 1 :]
    if found_c is not None:
        rows.append(("wrong by", say_difference(found_c - true_c)))
    rows.append(("its voltage", f"{ice_mv:.3f} mV against 0 °C, {here_mv:.3f} mV against the terminals"))
    return show(
        FigureAnswer(
            asked=(
                f"a type {wired} couple {'shown as' if shown else 'at'} {say_fine(asked_c)}, "
                f"{', '.join(fault) or 'rightly wired'}:"
            ),
            rows=tuple(rows),
            source="tables of NIST ITS-90 (Monograph 175), voltages added",
            assumed=(
                f"new wire; {'the rest of the' if copper_head else 'extension'} lead of its own type; "
                f"terminals at {say_fine(junction_c)}"
            ),
            data={"true_c": true_c, "shows_c": found_c, "ice_mv": ice_mv, "terminals_mv": here_mv},
            beware=_beware(true_c, found_c, wrong=bool(fault)),
        ),
        as_json,
    )


def _right(
    set_as: str | None, swapped: bool, bare: bool, head: str | None, copper_head: str | None, shown: bool
) -> None:
    """Refuse a fault beside millivolts: they are the couple's own. Raises ConfigError."""
    refuse_unused(
        "millivolts are read at the terminals of a couple that is wired right",
        set_as=set_as,
        swapped=swapped or None,
        uncompensated=bare or None,
        head=head,
        copper_head=copper_head,
        shown=shown or None,
    )


def _faults(
    set_for: str, swapped: bool, uncompensated: bool, head: str | None, copper_head: str | None
) -> list[str]:
    """Return in words what is wrong with the wiring or the setting."""
    faults = [f"set for {set_for}"] * bool(set_for) + ["leads swapped"] * swapped
    faults += ["terminals not allowed for"] * uncompensated
    faults += [f"lead reversed, head at {head}"] * (head is not None)
    return faults + [f"lead of plain copper, head at {copper_head}"] * (copper_head is not None)


def _from_millivolts(read_mv: float, wired: Couple, junction_c: float) -> FigureAnswer:
    """Return how hot the tip is behind a meter's millivolts. Raises ConfigError outside the table."""
    from kilnctl.devices.thermocouples import hot_c

    tip_c = hot_c(wired, read_mv, junction_c)
    if tip_c is None:
        raise ConfigError(f"no type {wired} couple gives {read_mv:g} mV with its terminals there")
    return FigureAnswer(
        asked=f"a type {wired} couple that gives {read_mv:g} mV at its terminals:",
        rows=(("tip", say_fine(tip_c)), ("terminals", say_fine(junction_c))),
        source="tables of NIST ITS-90 (Monograph 175), voltages added: the terminals' own is added first",
        assumed="the meter reads to a hundredth of a millivolt, which is a quarter of a kelvin of type K",
        data={"true_c": tip_c, "terminals_c": junction_c},
        beware=("a reading that is negative has plus and minus swapped",) if read_mv < 0.0 else (),
    )


def _beware(true_c: float, found_c: float | None, wrong: bool) -> tuple[str, ...]:
    """Return what follows from what is shown; of a fault that misleads also what to do."""
    if found_c is None:
        said = ["no reading: no controller can hold an oven by it"]
    else:
        said = ["it reads low: the oven would run hotter than it says"] * (found_c < true_c - MISLEADS_K)
        said += ["it reads high: the part would stay colder than the oven says, and soft"] * (
            found_c > true_c + MISLEADS_K
        )
    return (*said, MEND) if wrong and said else tuple(said)


def _beside_the_oven_c(text: str) -> float:
    """Return the temperature of terminals or a connection head. Raises UnitError where none would work."""
    at_c = heat_c(text)
    if not COLDEST_HEAD_C <= at_c <= HOTTEST_HEAD_C:
        raise UnitError(
            f'"{text}": terminals and heads are at {COLDEST_HEAD_C:.0f} to {HOTTEST_HEAD_C:.0f} C'
        )
    return at_c


def _true_c(shows: Callable[[float], float | None], asked_c: float) -> float:
    """Return the true temperature behind a shown one: between whole degrees by a straight line.

    Raises ConfigError where nothing that an oven can be shows it.
    """
    before: tuple[float, float] | None = None
    for step in range(int(COLDEST_C), int(HOTTEST_C) + 1):
        try:
            now_c = shows(float(step))
        except ValueError:  # outside the table of the couple that is wired
            now_c = None
        if before is not None and now_c is not None and (before[1] - asked_c) * (now_c - asked_c) <= 0.0:
            return before[0] + (asked_c - before[1]) / (now_c - before[1])
        before = None if now_c is None else (float(step), now_c)
    if before is not None and before[1] < asked_c:
        raise ConfigError(
            f"it reads so low that it shows only {before[1]:.0f} C at {before[0]:.0f} C, and never "
            f"{asked_c:.0f} C: an oven set by it runs away. Heat off, and set the type that is wired"
        )
    raise ConfigError(f"no temperature in this couple's range is shown as {asked_c:.0f} C")
