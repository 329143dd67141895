"""What a wrong couple, a wrong setting or a reversed lead would show: figure couple."""

from typing import Literal

from kilnctl.cli.figure.figure_answer import FigureAnswer, say_difference, say_fine, show
from kilnctl.cli.figure.inputs import Quantity, heat_c
from kilnctl.cli.terminal.options import Flag, Json
from kilnctl.errors import ConfigError

Couple = Literal["K", "J", "N", "T", "E", "R", "S", "B"]


def couple(
    temperature: Quantity,
    wired: Couple,
    /,
    *,
    set_as: Couple | None = None,
    terminals: Quantity = "25 C",
    swapped: Flag = False,
    uncompensated: Flag = False,
    head: str | None = None,
    as_json: Json = False,
) -> int:
    """Say what an instrument shows for a couple that it is not set for, or that is wired wrong.

    Parameters
    ----------
    temperature
        The true temperature.
    wired
        The type of couple in the oven.
    set_as
        The type that the instrument is set for; left out, the same.
    terminals
        Temperature at the instrument's terminals.
    swapped
        Plus and minus are swapped at the instrument.
    uncompensated
        The instrument takes its terminals for 0 °C.
    head
        The extension lead is reversed at both ends, and its connection head is this warm.
    as_json
        Print one JSON object.
    """
    from kilnctl.devices.thermocouples import shown_c, swapped_lead_c

    true_c, junction_c, said = heat_c(temperature), heat_c(terminals), set_as or wired
    if head is not None and (swapped or uncompensated or said != wired):
        raise ConfigError("one fault at a time: --head stands alone")
    try:
        found_c = (
            shown_c(wired, said, true_c, junction_c, not uncompensated, swapped)
            if head is None
            else swapped_lead_c(wired, true_c, heat_c(head), junction_c)
        )
    except ValueError as e:
        raise ConfigError(f"type {wired} has no table there: {e}") from None
    fault = [f"set for {said}"] * (said != wired) + ["leads swapped"] * swapped
    fault += ["terminals not allowed for"] * uncompensated + [f"lead reversed, head at {head}"] * (
        head is not None
    )
    shown = "nothing: outside the instrument's table" if found_c is None else say_fine(found_c)
    rows = [("shows", shown)]
    if found_c is not None:
        rows.append(("wrong by", say_difference(found_c - true_c)))
    low = found_c is not None and found_c < true_c - 2.0
    return show(
        FigureAnswer(
            asked=f"a type {wired} couple at {say_fine(true_c)}, {', '.join(fault) or 'rightly wired'}:",
            rows=tuple(rows),
            source="tables of NIST ITS-90 (Monograph 175), voltages added",
            assumed=f"new wire; extension lead of its own type; terminals at {say_fine(junction_c)}",
            data={"true_c": true_c, "shows_c": found_c},
            beware=("it reads low: the oven would run hotter than it says",) if low else (),
        ),
        as_json,
    )
