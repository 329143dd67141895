"""Which keys of the oven file would make sense of what a cold sensor shows, and how sure that is."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from itertools import product

from kilnctl.config.wiring import Temperature
from kilnctl.units import c_from_f

STILL_K = 1.0
APART_K = 3.0  # more than a sound pair shows: the cold check refuses it, and so it is no cure either
KELVIN = 273.15
REGISTER_K = 5.0  # so much nearer to the room another register must be than another key
# One count, as converters and their makers have it: powers of ten, halves of halves, fifths.
SCALES = (1.0, 0.1, 0.01, 10.0)
MORE_SCALES = (0.5, 0.25, 0.2, 0.125, 0.0625)
MOST_KEYS, OF_A_FLOAT = 2, 3  # at once: more of them fit something by chance
MOST_NAMED = 3
ORDERS, STEP = frozenset({"word_order", "byte_order"}), frozenset({"unit", "scale"})
NOTHING_FITS = (
    "No other order, unit or scale makes sense of it: look at scale, unit and register number in the "
    "board's list; check sensor and terminals."
)

RawOf = Callable[[Temperature], float | None]
Taken = frozenset[tuple[str, str, int]]


@dataclass(frozen=True, slots=True)
class _Meaning:
    """One way to read some registers: the value in degC and what the oven file would have to say for it."""

    value_c: float
    keys: dict[str, object]

    @property
    def words(self) -> str:
        keys = ", ".join(f"{key} = {_toml(value)}" for key, value in self.keys.items())
        return f"With {keys} it would show {self.value_c:.1f} °C"


def cure(place: Temperature, raw_of: RawOf, room_c: float, shown_c: float, taken: Taken) -> str:
    """Return which keys would make sense of an absurd number: those that the check itself would pass."""
    found = [
        m for m in _meanings(place, raw_of)
        if abs(m.value_c - room_c) <= APART_K and free(place, m.keys.get("register"), taken)
    ]  # fmt: skip
    kelvins_c = shown_c - KELVIN
    by_one_key = any(len(m.keys) == 1 for m in found)
    if not by_one_key and place.unit == "C" and abs(kelvins_c - room_c) <= APART_K:
        return f"With offset = {place.offset - KELVIN:g} it would show {kelvins_c:.1f} °C: it sends kelvins."
    if not found:
        return NOTHING_FITS

    # An order of words or bytes before all, and another register last but where it is much nearer: what lies
    # between two values passes for one.
    def doubt(m: _Meaning) -> tuple[int, bool, float]:
        further_k = REGISTER_K if "register" in m.keys else 0.0
        return len(m.keys), not m.keys.keys() <= ORDERS, abs(m.value_c - room_c) + further_k

    best = min(found, key=doubt)
    if best.keys.keys() <= ORDERS:
        return f"{best.words}."
    # Unit and scale stand on one line of a list, so a pair of them is no less likely than one of them.
    others = [m for m in sorted(found, key=doubt) if m is not best and m.keys.keys() <= STEP]
    named = [best, *others][:MOST_NAMED]
    return ". ".join(m.words for m in named) + "." + _sure(named)


def _sure(named: list[_Meaning]) -> str:
    """Return what decides where more than one thing fits, or two keys at once do, perhaps by chance."""
    if len(named) > 1:
        return " Several fit: the board's list decides."
    if len(named[0].keys) > 1 and named[0].keys.keys() <= STEP:
        return " This is a guess, and the board's list decides; is the oven still warm?"
    return ""


def beside(place: Temperature, raw_of: RawOf, room_c: float, taken: Taken) -> str:
    """Return what shows the room better than a sensor that is a little off: a neighbour, another scale.

    A module's own warmth passes for a warm sensor, and fifths of a degree for a cold one of quarters.
    """
    for at in (-1, 1):
        near = place.model_copy(update={"register_no": place.register_no + at})
        if near.register_no < 0 or not free(near, near.register_no, taken):
            continue
        value_c = degc(near, raw_of, {})
        if value_c is not None and abs(value_c - room_c) <= STILL_K:
            return _unless_warm(_Meaning(value_c, {"register": near.register_no}))
    for scale in (*SCALES, *MORE_SCALES):
        value_c = degc(place, raw_of, {"scale": scale})
        if scale != place.scale and value_c is not None and abs(value_c - room_c) <= STILL_K:
            return _unless_warm(_Meaning(value_c, {"scale": scale}))
    return ""


def free(place: Temperature, register: object, taken: Taken) -> bool:
    """False for a register that another signal of the file has."""
    return (place.device, place.table, register) not in taken


def degc(place: Temperature, raw_of: RawOf, changed: Mapping[str, object]) -> float | None:
    """Return what a place shows with some of its keys changed, None where there is no such register."""
    other = place.model_copy(update=changed)
    raw = raw_of(other)
    if raw is None:
        return None
    value = raw * other.scale + other.offset
    return c_from_f(value) if other.unit == "F" else value


def _unless_warm(meaning: _Meaning) -> str:
    return f" {meaning.words}. If that is not it, give sensor and thermometer an hour."


def _meanings(place: Temperature, raw_of: RawOf) -> Iterator[_Meaning]:
    orders = tuple(product(("high first", "low first"), ("big", "little")))
    forms = ("int16", "uint16", "int32", "float32", "float64")
    scales = dict.fromkeys((place.scale, *SCALES, *MORE_SCALES))
    for at, form, order, unit, scale in product((0, -1, 1), forms, orders, ("C", "F"), scales):
        wanted = {
            "register_no": place.register_no + at,
            "format": form,
            "word_order": order[0],
            "byte_order": order[1],
            "unit": unit,
            "scale": scale,
        }
        changed = {key: value for key, value in wanted.items() if value != getattr(place, key)}
        if not _likely(changed):
            continue
        value_c = degc(place, raw_of, changed)
        if value_c is not None:
            yield _Meaning(value_c, {key.removesuffix("_no"): value for key, value in changed.items()})


def _likely(changed: Mapping[str, object]) -> bool:
    """False for what would fit most numbers by chance: many keys at once, a rare scale beside other keys."""
    most = OF_A_FLOAT if str(changed.get("format", "")).startswith("float") else MOST_KEYS
    rare = changed.get("scale") in MORE_SCALES
    return len(changed) <= most and (not rare or changed.keys() <= STEP)


def _toml(value: object) -> str:
    return (
        f'"{value}"' if isinstance(value, str) else f"{value:g}" if isinstance(value, float) else str(value)
    )
