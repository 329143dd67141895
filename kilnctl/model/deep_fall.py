"""A reading that stays as low after a step as no charge can hold it: the sensor came out with the charge.

A charge takes heat from what surrounds it, but walls and elements go on shining at the sensor. In 34 ovens of
another build 1.5 kg put in cold held a reading 0.24 of the way to the room at most, 3 kg 0.38, and that in
light fibre alone. A sensor that hangs half out shows a share of the oven for good, while the oven is heated
for what it does not show.
"""

# So far on the way from what was read when the person was asked to the room, for so long with nobody asked.
_DEEP = ((0.4, 60.0), (0.27, 240.0))


class DeepFall:
    """Follows how far a reading lies below what it was when a person was asked to the oven."""

    def __init__(self) -> None:
        self._from_c: float | None = None
        self._deep_s = [0.0] * len(_DEEP)

    @property
    def stays(self) -> bool:
        """Return whether it has been too deep for too long."""
        return any(at_s > for_s for at_s, (_, for_s) in zip(self._deep_s, _DEEP, strict=True))

    def drop(self) -> None:
        """Follow no longer."""
        self._from_c = None

    def step(self, process_c: float, ambient_c: float, asked: bool, begins: bool, dt_s: float) -> None:
        """Take a reading in degC; `begins` in the tick in which a person is asked for."""
        if begins:
            self._from_c = process_c if self._from_c is None else max(self._from_c, process_c)
        from_c = self._from_c
        for at, (share, _) in enumerate(_DEEP):
            deep = from_c is not None and not asked and from_c - process_c > share * (from_c - ambient_c)
            self._deep_s[at] = self._deep_s[at] + dt_s if deep else 0.0
