"""Numbers with a source. Nothing on a steel card is a bare number."""

from typing import Annotated, Any, Literal

from pydantic import AfterValidator, model_validator

from kilnctl.quantities import PointC
from kilnctl.tomlfile import Strict, wrong
from kilnctl.units import c_from_f

MEMORY = "from memory"
PRACTICE = "common practice"
COMPUTED = "computed"
PLAIN_SOURCES = {
    MEMORY: "from memory, not looked up; treat with caution",
    PRACTICE: "common practice of the trade, no single source",
    COMPUTED: "computed by kilnctl from the stated formula and composition",
}
Trust = Literal["published", "from memory", "common practice", "computed"]


def _in_reach(at_c: float) -> float:
    """Return a heat from liquid nitrogen to above every austenitise range; offer °F where that was meant."""
    if not -200 <= at_c <= 1400:
        as_f_c = c_from_f(at_c)
        meant = f"; did you mean {at_c:.0f} F ({as_f_c:.0f} C)?" if 100 <= as_f_c <= 1400 else ""
        raise wrong("between", f"must lie between -200 C and 1400 C{meant}")
    return at_c


SteelC = Annotated[PointC, AfterValidator(_in_reach)]


class Claim(Strict):
    """Something that somebody says: `source` is a key of the card's [sources] or one of PLAIN_SOURCES."""

    source: str
    note: str = ""

    @model_validator(mode="before")
    @classmethod
    def _sourced(cls, data: Any) -> Any:
        if not isinstance(data, dict):
            raise wrong("bare", f"{data!r} is a bare number; write a table with its value and its source")
        if not str(data.get("source", "")).strip():
            raise wrong("unsourced", "has no source; say where the number comes from")
        return data

    @property
    def trust(self) -> Trust:
        """Return how far the claim may be trusted."""
        return self.source if self.source in PLAIN_SOURCES else "published"  # type: ignore[return-value]


class BandC(Claim):
    """A temperature or a range of temperatures; a file may write `at` or `from` and `to`."""

    low_c: SteelC
    high_c: SteelC

    @model_validator(mode="before")
    @classmethod
    def _range(cls, data: Any) -> Any:
        if not isinstance(data, dict) or "low_c" in data:
            return data
        rest = {key: value for key, value in data.items() if key not in ("at", "from", "to")}
        low, high = data.get("from", data.get("at")), data.get("to", data.get("at"))
        if low is None or high is None or ("at" in data and ("from" in data or "to" in data)):
            raise wrong("range", 'write either at = "800 C" or from = "790 C", to = "815 C"')
        return {**rest, "low_c": low, "high_c": high}

    @model_validator(mode="after")
    def _rising(self) -> "BandC":
        if self.low_c > self.high_c:
            raise wrong("range", f"from {self.low_c:g} C lies above to {self.high_c:g} C")
        return self

    @property
    def middle_c(self) -> float:
        """Return the middle of the range in degC, to 5 degC where the range is wider than that."""
        middle_c = (self.low_c + self.high_c) / 2
        return middle_c if self.high_c - self.low_c < 5.0 else 5.0 * round(middle_c / 5.0)

    @property
    def words(self) -> str:
        """Return the range as people write it."""
        if self.low_c == self.high_c:
            return f"{self.low_c:.0f} °C"
        to = "-" if self.low_c >= 0.0 else " to "
        return f"{self.low_c:.0f}{to}{self.high_c:.0f} °C"

    def holds(self, at_c: float, slack_k: float = 0.5) -> bool:
        """True when a temperature lies in the range."""
        return self.low_c - slack_k <= at_c <= self.high_c + slack_k
