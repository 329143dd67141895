"""A profile as it crosses the socket: plain data, every number in its field's own unit, no text between."""

from typing import Any

from kilnctl.errors import ProfileError
from kilnctl.profile.segments import Profile
from kilnctl.quantities import Reckoned
from kilnctl.tomlfile import made


def data_of(profile: Profile) -> dict[str, Any]:
    """Return a profile as plain data that JSON carries without loss."""
    return profile.model_dump(mode="json", by_alias=True, exclude_none=True)


def profile_of(data: object) -> Profile:
    """Return the profile in plain data, within the bounds of a file. Raises ProfileError."""
    if not isinstance(data, dict):
        raise ProfileError("profile: not a table")
    return made(_in_own_units(data), Profile, ProfileError, "profile")


def _in_own_units(data: Any) -> Any:
    """Return the data with lists as tuples and the numbers of its tables marked as being in their units."""
    if isinstance(data, dict):
        return {key: Reckoned(v) if type(v) is float else _in_own_units(v) for key, v in data.items()}
    return tuple(_in_own_units(item) for item in data) if isinstance(data, list) else data
