"""Where a value lives in a device, and the yes/no input."""

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from kilnctl.config.device_keys import Name
from kilnctl.tomlfile import Strict, wrong

Register = Annotated[int, Field(ge=0, le=65535)]
RawValue = Annotated[int, Field(ge=-(2**31), le=2**32 - 1)]
Format = Literal["bit", "int16", "uint16", "int32", "uint32", "float32", "float64"]
FLOATS = ("float32", "float64")
REGISTERS = {"int32": 2, "uint32": 2, "float32": 2, "float64": 4}  # of a format; of any other one


class Place(Strict):
    """Where a value lives in a device and how it becomes a number: raw * scale + offset.

    On Modbus devices by `table` and `register` (counted from 0), on the others by `field`. `mask` leaves some
    bits of a whole number, shifted down, such as the upper half of a register.
    """

    device: str
    table: Literal["coil", "discrete", "input", "holding"] = "holding"
    register_no: Register = Field(default=0, alias="register")
    format: Format = "int16"
    word_order: Literal["high first", "low first"] = "high first"
    byte_order: Literal["big", "little"] = "big"
    bit: Annotated[int, Field(ge=0, le=15)] | None = None
    mask: Annotated[int, Field(ge=1, le=2**32 - 1)] | None = None
    field: Name | Literal[""] = ""
    scale: Annotated[float, Field(ge=-1e9, le=1e9)] = 1.0
    offset: Annotated[float, Field(ge=-1e9, le=1e9)] = 0.0

    @model_validator(mode="after")
    def _scale_is_not_nothing(self) -> Self:
        if self.scale == 0.0:
            raise wrong("scale", "scale must not be 0: every reading would be the same")
        return self

    @property
    def bits_table(self) -> bool:
        """True for the two tables of single bits."""
        return self.table in ("coil", "discrete")

    @property
    def registers(self) -> int:
        """Return how many registers (or bits) the value takes."""
        return 1 if self.bits_table else REGISTERS.get(self.format, 1)

    @property
    def is_float(self) -> bool:
        """True for the formats with a decimal point of their own."""
        return self.format in FLOATS

    @property
    def where(self) -> str:
        """Return the address in words: "input 3 bit 1", "field heater"."""
        bit = "" if self.bit is None else f" bit {self.bit}"
        return f"field {self.field}" if self.field else f"{self.table} {self.register_no}{bit}"

    @property
    def scaled(self) -> bool:
        """True where the file itself gives a scale."""
        return self.says("scale")

    def says(self, key: str) -> bool:
        """True when the file itself gives a key."""
        return key in self.model_fields_set


class Switch(Place):
    """A yes/no input; `inverted` where a 0 on the wire means yes.

    `yes` are the numbers that mean yes; without it every number does but 0. Beside them `no` are those that
    mean no, 0 if the file does not say; any other number is no answer.
    """

    inverted: bool = False
    yes: tuple[RawValue, ...] = ()
    no: tuple[RawValue, ...] = (0,)

    @model_validator(mode="after")
    def _yes_is_not_no(self) -> Self:
        if set(self.yes) & set(self.no):
            raise wrong("value", "a number stands in yes and in no")
        if self.no != (0,) and not self.yes:
            raise wrong("value", "no goes with yes: write the numbers that mean yes too")
        return self
