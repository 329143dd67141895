"""How cool a temper may be: one rule for plans, choices, figures and cards, whatever a table begins with.

A printed row at 100 degC says how hard a part is that was only dried; it is no temper. Sheets of tool steel
begin at 300 degF (149 degC); what is cooler takes little of the brittleness away (common practice).
"""

from kilnctl.treatment.steel.steels import TemperTable

REFUSED_BELOW_C = 140.0
SOUND_FROM_C = 149.0
WARNED_BELOW_C = 147.0  # cards round to whole or five degrees
LITTLE_RELIEF = "below about 150 °C a temper removes little of the brittleness (common practice)"


def too_cold(at_c: float) -> bool:
    """Return whether a heat is too cold for any steel to be called tempered."""
    return at_c < REFUSED_BELOW_C


def cold_warnings(at_c: float) -> tuple[str, ...]:
    """Return what is said of a temper as cool as this; nothing of a sound one."""
    return (LITTLE_RELIEF,) if at_c < WARNED_BELOW_C else ()


def cold_mark(at_c: float) -> str:
    """Return what stands behind a row of a printed ladder that is no temper."""
    return " (no temper)" if at_c < WARNED_BELOW_C else ""


def sound_rows(table: TemperTable) -> list[tuple[float, float, float]]:
    """Return the rows of a ladder that are tempers: degC, lowest and highest HRC.

    A ladder that begins cooler begins here with what it says of the coolest sound temper.
    """
    rows = [(row.at_c, *row.hrc) for row in table.row]
    sound = [row for row in rows if row[0] >= SOUND_FROM_C]
    colder = [row for row in rows if row[0] < SOUND_FROM_C]
    if not sound or not colder or sound[0][0] == SOUND_FROM_C:
        return sound
    below, above = colder[-1], sound[0]
    share = (SOUND_FROM_C - below[0]) / (above[0] - below[0])
    low, high = (below[n] + share * (above[n] - below[n]) for n in (1, 2))
    return [(SOUND_FROM_C, low, high), *sound]
