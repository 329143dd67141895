"""What crosses to the process that heats when somebody wants a heat: one message, read strictly.

Unlike pictures for a screen, an order is refused for a field that is not known here: it may be a limit that a
person has set.
"""

import dataclasses
import hashlib
import json
import math
from typing import Any, Literal

from kilnctl.errors import LinkError
from kilnctl.link import wire
from kilnctl.profile.message import data_of, profile_of
from kilnctl.profile.segments import Profile

# nobody: no terminal; asked: somebody is at a terminal; then by what he was found to be at the machine.
Presence = Literal["nobody", "asked", "own screen", "lamp"]
PROVED: tuple[Presence, ...] = ("own screen", "lamp")


@dataclasses.dataclass(frozen=True, slots=True)
class StartJob:
    """A heat as it is asked for, whole, so that nobody can change a file in mid-heat.

    `oven` is the text of the oven file, of which every process keeps the same hash, `oven_name` what an error
    calls it; `off_stamp` is what was seen of the off stamps as the first act of the command. `resumes` is the
    run that is taken up, `way` whether by one key ("alone"). `confirmed` are doubts about the first readings
    that a person has cleared. `acknowledged` are the lines that they have taken, key by key, in answer to
    `challenge`; `presence` says by what they were found to be at the machine. Times in seconds.
    """

    oven: str
    profile: Profile
    off_stamp: dict[str, str]
    oven_name: str = "oven file"
    unattended: bool = False
    record_only: bool = False
    time_scale: float = 1.0
    warnings: tuple[str, ...] = ()
    not_checked: tuple[str, ...] = ()
    planned_s: tuple[float | None, ...] = ()
    resume_within_s: float | None = None
    resumes: int | None = None
    way: Literal["", "alone", "attended"] = ""
    wait_s: float = 0.0
    part: str = ""
    operator: str = ""
    confirmed: tuple[str, ...] = ()
    acknowledged: tuple[str, ...] = ()
    challenge: str = ""
    presence: Presence = "nobody"


# What a person's answer adds; all else is the job that he answers for.
ANSWER = ("confirmed", "acknowledged", "challenge", "presence")


def start_of(args: object) -> StartJob:
    """Return the start in a message. Raises LinkError naming the field that is wrong, missing or unknown.

    Raises ProfileError for a profile that is none.
    """
    if isinstance(args, dict) and "profile" in args:
        args = {**args, "profile": profile_of(args["profile"])}
    start = wire.read(StartJob, args, "start")
    known = {field.name for field in dataclasses.fields(StartJob)}
    strange = sorted(set(args) - known) if isinstance(args, dict) else []
    if strange:
        raise LinkError(f"start.{strange[0]}: not known here; are screen and controller the same version?")
    for name in ("time_scale", "wait_s", "resume_within_s"):
        value = getattr(start, name)
        if value is not None and (not math.isfinite(value) or value < 0.0):
            raise LinkError(f"start.{name}: {value:g} is no time")
    return start


def args_of(start: StartJob) -> dict[str, Any]:
    """Return a start as the plain data of a command."""
    return {**wire.fields(start), "profile": data_of(start.profile)}


def job_key(start: StartJob) -> str:
    """Return a key of the oven and the job that a start is for, whatever its person has answered."""
    plain = {name: value for name, value in args_of(start).items() if name not in ANSWER}
    return hashlib.sha256(json.dumps(plain, sort_keys=True).encode()).hexdigest()
