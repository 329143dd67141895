"""What a newcomer with four strange boards met in the first hour, each with its right cure."""

from faults.more_mistakes import TCP, OnNetwork
from faults.planted_bench import Bench, Mistake
from foreign import OnASocket


class Floats(Bench):
    """A line without bias resistors: a zero byte before each answer, as the driver switches on."""

    def _talk(self, came: bytes) -> tuple[int, bytes]:
        used, reply = super()._talk(came)
        return used, reply and b"\x00" + reply


class AnyUnit(OnNetwork):
    """A network board that takes any unit number and answers with one of its own, as its data sheet says."""

    def __init__(self, says: int) -> None:
        Bench.__init__(self)

        def own(head: bytes, body: bytes) -> list[tuple[float, bytes]]:
            return [(0.0, head + bytes([says]) + body[1:])]

        self._socket = OnASocket(self.units, manner=own, any_unit=True)


LAMP = '[output.lamp]\ndevice = "relays"\ntable = "coil"\nregister = 4\n'
FIRST_HOUR = [
    Mistake("a line without bias resistors", "bus check", "a stray byte comes before it.*bias resistors",
            board=Floats, never="Two devices|parity"),
    Mistake("coils that count from one", "bus check", "output.lamp: the device has no coil 4, but coil 3",
            "[[identity]]", LAMP + "[[identity]]", never="lamp stay dark"),
    Mistake("a network board that answers as unit 255", "bus check", "unit 255 answers.*write address = 255",
            file=TCP, board=lambda: AnyUnit(255), never="Check address"),
]  # fmt: skip
