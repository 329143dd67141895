"""A profile back into a file that people can edit."""

from collections.abc import Callable
from typing import Any

from kilnctl.profile.segments import AnySegment, Profile


def _short(value: float) -> str:
    return f"{value:.6f}".rstrip("0").rstrip(".")


def _time(value_s: float) -> str:
    if value_s >= 60.0 and value_s % 60.0 == 0.0:
        hours, minutes = divmod(round(value_s / 60.0), 60)
        return " ".join(f"{n}{unit}" for n, unit in ((hours, "h"), (minutes, "min")) if n)
    return f"{_short(value_s)} s"


_UNITS: dict[str, Callable[[float], str]] = {
    "to_c": lambda v: f"{_short(v)} C",
    "at_c": lambda v: f"{_short(v)} C",
    "sensor_c": lambda v: f"{_short(v)} C",
    "hold_c": lambda v: f"{_short(v)} C",
    "rate_c_per_h": lambda v: f"{_short(v)} C/h",
    "soak_s": _time,
    "at_most_s": _time,
    "transfer_s": _time,
    "bath_s": _time,
    "clamp_s": _time,
    "warm_s": _time,
    "band_k": lambda v: f"{_short(v)} K",
    "section_mm": lambda v: f"{_short(v)} mm",
}


def profile_toml(profile: Profile) -> str:
    """Return a profile as TOML text that loads to the same profile."""
    import tomlkit  # a plan that is only looked at writes no file

    document = tomlkit.document()
    for key, value in _keys(profile).items():
        document.add(key, value)
    segments = tomlkit.aot()
    for segment in profile.segments:
        table = tomlkit.table()
        for key, value in _keys(segment).items():
            table.add(key, value)
        segments.append(table)
    document.add("segment", segments)
    return tomlkit.dumps(document)


def _keys(item: Profile | AnySegment) -> dict[str, Any]:
    """Return what differs from the defaults, under the names and units of the file."""
    keys: dict[str, Any] = {}
    for name, field in type(item).model_fields.items():
        value = getattr(item, name)
        if name == "segments" or (value == field.default and name != "kind"):
            continue
        written = (
            _UNITS[name](value) if name in _UNITS else list(value) if isinstance(value, tuple) else value
        )
        keys[field.alias or name] = written
    return keys
