"""What makers write where a recipe has another word: the right one is told, or taken where both are one."""

from collections.abc import Sequence
from typing import Any

from kilnctl.tomlfile import wrong

_KEYS = {
    "quench": "medium",
    "quench_medium": "medium",
    "temperature": "at",
    "temp": "at",
    "soak": "time",
    "soak_time": "time",
    "duration": "time",
    "thickness": "section",
    "thick": "section",
    "thin": "thinnest",
    "edge_thickness": "thinnest",
    "grade": "steel",
    "hardness": "goal_hrc",
    "hrc": "goal_hrc",
    "goal": "goal_hrc",
    "times": "count",
    "cycles": "count",
    "repeat": "count",
    "ramp": "rate",
    "heating_rate": "rate",
    "cooling_rate": "cool_rate",
    "foil": "protection",
    "furnace": "oven",
    "kiln": "oven",
}
_SURFACES = {"coating": "coated", "foil": "foil"}
_NEED_NO_HEAT = ("wait", "cold treatment")
_MEDIA = {"water": "water or brine", "brine": "water or brine", "air": "still air", "plate": "plates"}


def known_keys(data: Any) -> Any:
    """Return the table as it is. Raises `wrong` for a foreign key, and for one that nothing would use."""
    if not isinstance(data, dict):
        return data
    if "units" in data:
        raise wrong("units", 'give every number its unit ("400 F"); what is shown: `kilnctl guide own-units`')
    if data.get("do") == "temper" and "wait" in data and data.get("load") != "hot":
        raise wrong("wait", 'wait is for load = "hot": a cold oven waits for nobody; a pause is do = "wait"')
    for foreign in data:
        if foreign in _KEYS:
            raise wrong("key", f'"{foreign}" is called "{_KEYS[foreign]}" in a recipe')
    return data


def medium_of(value: Any) -> Any:
    """Return a quench medium by the recipe's word. Oil alone is refused: which one decides over a crack."""
    if value == "oil":
        raise wrong(
            "medium", 'which oil: "fast oil" (7 to 9 s) or "medium oil" (10 to 14 s in its data sheet)?'
        )
    return _MEDIA.get(value, value) if isinstance(value, str) else value


def with_surface(data: Any) -> Any:
    """Return the recipe with the surface that its protection makes: foil is heated as foil, and cut open.

    Raises `wrong` where both are given and do not agree.
    """
    treatments = data.get("treatment") if isinstance(data, dict) else None
    given = [t.get("protection") for t in treatments or () if isinstance(t, dict)]
    worn = [name for name in _SURFACES if name in given]
    if len(worn) != 1:
        return data
    protection = worn[0]
    surface = data.get("surface", _SURFACES[protection])
    if surface in ("bare", "bright"):
        raise wrong("surface", f'protection = "{protection}" is not "{surface}": leave surface out')
    return {**data, "surface": surface}


def with_a_type(data: Any) -> Any:
    """Return an anneal's table. Raises `wrong` with the kinds there are where it has none."""
    if isinstance(data, dict) and "type" not in data:
        raise wrong("type", 'an anneal needs its type: "full", "spheroidise" or "subcritical"')
    return data


def one_or_more(value: Any) -> Any:
    """Return a single value as a list of one."""
    return (value,) if isinstance(value, str) else value


def with_places(data: Any) -> Any:
    """Return a recipe's table whose waits and cold treatments are by the oven of what follows them.

    They need no heat: left to the recipe's oven, the part would be carried to a furnace to wait there.
    """
    steps = data.get("treatment") if isinstance(data, dict) else None
    if not isinstance(steps, list | tuple) or not all(isinstance(step, dict) for step in steps):
        return data
    return {**data, "treatment": tuple(_placed(steps, n) for n in range(len(steps)))}


def _placed(steps: Sequence[dict[str, Any]], n: int) -> dict[str, Any]:
    if steps[n].get("do") not in _NEED_NO_HEAT or "oven" in steps[n]:
        return steps[n]
    near = (step for step in (*steps[n + 1 :], *reversed(steps[:n])) if step.get("do") not in _NEED_NO_HEAT)
    place = next((step.get("oven") for step in near), None)
    return steps[n] if place is None else {**steps[n], "oven": place}
