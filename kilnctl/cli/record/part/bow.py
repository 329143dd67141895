"""The command that keeps how far a part came out of the quench bent: part bow."""

from kilnctl.cli.record.open_logbook import keep
from kilnctl.cli.record.part.story import story
from kilnctl.units import parse_duration_s, parse_length_mm


def bow(
    name: str,
    height: str,
    /,
    *,
    side: str,
    length: str | None = None,
    quench: str = "",
    clamp: str | None = None,
    run: int | None = None,
) -> int:
    """Record how far a part is bent, and to which side.

    Parameters
    ----------
    name:
        The part or batch.
    height:
        How far it is bent ("1.2 mm").
    side:
        To which side ("left").
    length:
        Over which length ("120 mm").
    quench:
        How it went into the quench ("edge first").
    clamp:
        How long it was clamped ("20 s").
    run:
        The run that the bow belongs to.
    """
    from kilnctl.logbook.entries import Warp

    length_mm = None if length is None else parse_length_mm(length)
    clamp_s = None if clamp is None else parse_duration_s(clamp)
    keep(Warp(name, parse_length_mm(height), side, length_mm, quench, clamp_s, run))
    return story(name)
