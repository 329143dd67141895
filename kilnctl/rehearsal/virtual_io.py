"""An oven's I/O on a simulated board in this process: the roles of a wired oven, no bytes, virtual time."""

from collections import deque

from kilnctl.clock import Clock
from kilnctl.config.oven import Oven
from kilnctl.config.wiring import Heater
from kilnctl.devices.heat_cutter import DROP_S
from kilnctl.devices.interfaces import HeatRequest
from kilnctl.devices.signals import confirmed, is_jump
from kilnctl.heat.heat_state import OFF
from kilnctl.readings import GOOD, UNHEARD, LinkHealth, Quality, Reading, Scan
from kilnctl.stages import LINK_ANSWERS, LINK_WINDOW_S
from simulator.boards.board import Board, NoSuchRegister, WireError
from simulator.boards.reading import OPEN

SOUND = LinkHealth()
PROCESS, SECOND, COLD_JUNCTION, LOAD, AMBIENT, ENCLOSURE, SUPPLY, CURRENT, COUNTER = range(9)
DOOR, LIVE, FAN, SMOKE, LIMIT = range(5)
FEED_S = 10
# Where the board takes each kind of heater: table, register.
TAKES = {
    "switch": ("coil", 0),
    "pulse": ("holding", 2),
    "duty": ("holding", 1),
    "set-point": ("holding", 3),
}
# As often as the I/O on real bytes.
OFF_ROUNDS = 3
# Failed exchanges count for so long, as on real bytes. In a sound tick there are the process, the heater
# read, written and read back, and the dead-man; where the board has a contactor, that too.
EXCHANGES = 5


def _raw(heater: Heater, request: HeatRequest) -> int:
    """Return what a request means in the board's own register for this kind of heater."""
    match heater.kind:
        case "duty":
            return round(request.duty * 1000)
        case "pulse":
            return round((heater.holds_s or 0.0) * 10) if request.on else 0
        case "set-point":
            goal_c = heater.park_c if request.setpoint_c is None else request.setpoint_c
            return round((goal_c or 0.0) * 10) & 0xFFFF
    return int(request.on)


class VirtualIO:
    """One oven on one simulated board. The board's time is moved by `scan`, to the time of the heat."""

    def __init__(self, oven: Oven, board: Board, clock: Clock) -> None:
        self.oven, self.board, self._clock = oven, board, clock
        signal = oven.signal
        self._low_c, self._high_c = signal.process.low_c, signal.process.high_c
        self._second = signal.second
        self._has_live = signal.heater_live is not None
        self._has_door = signal.door_open is not None
        self._has_contactor = oven.output.contactor is not None
        rare = (signal.load, signal.cold_junction, signal.ambient, signal.enclosure, signal.supply_v)
        others = (signal.current_a, signal.fan_on, signal.smoke, signal.limit_open, signal.counter)
        self._rare = any(s is not None for s in (*rare, *others))
        self._heater = oven.output.heater
        self._takes = TAKES[self._heater.kind]
        self._off_raw = _raw(self._heater, OFF)
        self._switches = self._heater.kind == "switch"
        self._plain = self._switches and not self._rare and signal.second is None
        self._last_c: float | None = None
        self._process_s = self._heater_s = clock.now_s()
        self._misses = self._bad = self._made = 0
        self._in_a_tick = EXCHANGES + self._has_contactor
        in_a_s = self._in_a_tick / oven.tick_s
        self._window_s = max(LINK_WINDOW_S, LINK_ANSWERS / in_a_s)
        self._every = self._window_s * in_a_s
        self._failed: deque[tuple[float, int, int]] = deque()

    def look_s(self) -> float | None:
        """Return None: nobody waits for the board of a rehearsal."""
        return None

    def off(self) -> bool:
        """Cut the heat on heater, contactor and dead-man; True when both read back as off.

        A contact at the element must say so too; the board is given a moment to drop.
        """
        if not any(self._off() for _ in range(OFF_ROUNDS)):
            return False
        if self._has_live and self._bit(LIVE):
            self.board.step(DROP_S)
        return not (self._has_live and self._bit(LIVE))

    def _off(self) -> bool:
        table, register = self._takes
        for at, raw in ((self._takes, self._off_raw), (("coil", 1), 0), (("holding", 0), 0)):
            try:
                self.board.write(*at, raw)
            except (WireError, NoSuchRegister):
                continue
        try:
            heater_off = self.board.read(table, register) in (0, self._off_raw)
            return heater_off and not self.board.read("coil", 1)
        except WireError:
            return False

    def connect(self) -> None:
        """Off first; there is no port to open."""
        self.off()
        self._process_s = self._heater_s = self._clock.now_s()

    def scan(self, at_s: float) -> Scan:
        """Move the board to at_s and look at it."""
        board = self.board
        if at_s > board.at_s:
            board.step(at_s - board.at_s)
        if self._plain and board.clear:
            return self._short(at_s)
        process = self._temperature(PROCESS, at_s)
        heat_on = self._heating()
        contactor_on = self._coil(1) if self._has_contactor else None
        link = self._link(at_s, process, heat_on)
        if self._rare or self._second is not None:
            return self._whole(at_s, process, heat_on, contactor_on, link)
        return Scan(
            at_s=at_s,
            process=process,
            heat_on=heat_on,
            link=link,
            contactor_on=contactor_on,
            heater_live=self._bit(LIVE) if self._has_live else None,
            door_open=self._bit(DOOR) if self._has_door else None,
        )

    def _short(self, at_s: float) -> Scan:
        """Return the scan of a switched heater with no more than live contact and door, over a sound line.

        The same as the long way; most heats of a campaign go this way, in a third of the time.
        """
        board, last_c = self.board, self._last_c
        process = self._checked(board.count, at_s)
        if is_jump(process, last_c):
            process = confirmed(process, self._checked(board.count, at_s), last_c)
        if process.value is not None:
            self._last_c = process.value
        heat_on = board.heater
        return Scan(  # in the order of the fields, as an Observation
            at_s,
            process,
            heat_on,
            self._link(at_s, process, heat_on),
            None,
            None,
            None,
            None,
            None,
            None,
            None,
            board.contactor if self._has_contactor else None,
            board.live() if self._has_live else None,
            board.plant.door_open if self._has_door else None,
        )

    def _whole(
        self, at_s: float, process: Reading, heat_on: bool | None, contactor_on: bool | None, link: LinkHealth
    ) -> Scan:
        signal = self.oven.signal
        counter = self._number(COUNTER, 1.0, at_s) if signal.counter is not None else None
        return Scan(
            at_s=at_s,
            process=process,
            heat_on=heat_on,
            link=link,
            second=self._number(SECOND, 0.1, at_s) if signal.second is not None else None,
            load=self._number(LOAD, 0.1, at_s) if signal.load is not None else None,
            cold_junction=self._number(COLD_JUNCTION, 0.1, at_s)
            if signal.cold_junction is not None
            else None,
            ambient=self._number(AMBIENT, 0.1, at_s) if signal.ambient is not None else None,
            enclosure=self._number(ENCLOSURE, 0.1, at_s) if signal.enclosure is not None else None,
            supply_v=self._number(SUPPLY, 0.1, at_s) if signal.supply_v is not None else None,
            current_a=self._number(CURRENT, 0.01, at_s) if signal.current_a is not None else None,
            contactor_on=contactor_on,
            heater_live=self._bit(LIVE) if self._has_live else None,
            door_open=self._bit(DOOR) if self._has_door else None,
            fan_on=self._bit(FAN) if signal.fan_on is not None else None,
            smoke=self._bit(SMOKE) if signal.smoke is not None else None,
            limit_open=self._bit(LIMIT) if signal.limit_open is not None else None,
            counter=int(counter.value) if counter is not None and counter.value is not None else None,
        )

    def _temperature(self, register: int, at_s: float) -> Reading:
        reading = self._number(register, 0.1, at_s)
        if is_jump(reading, self._last_c):
            reading = confirmed(reading, self._number(register, 0.1, at_s), self._last_c)
        if reading.value is not None:
            self._last_c = reading.value
        return reading

    def _number(self, register: int, scale: float, at_s: float) -> Reading:
        mine = register == PROCESS  # the others hang on a module of their own
        self._made += mine
        try:
            raw = self.board.read("input", register)
        except WireError as e:
            self._bad += mine
            return Reading.bad(Quality.NO_REPLY, str(e), at_s)
        count = raw - 65536 if raw > 32767 and register != COUNTER else raw
        if scale == 0.1 and register != SUPPLY:
            return self._checked(count, at_s)
        return Reading(count * scale, at_s, GOOD, count)

    def _checked(self, count: int, at_s: float) -> Reading:
        if count == OPEN:
            return Reading.bad(Quality.OPEN, "the device reports an open sensor", at_s, count)
        value_c = count * 0.1
        if not self._low_c <= value_c <= self._high_c:
            return Reading.bad(Quality.OUT_OF_RANGE, f"{value_c:.1f} °C is no temperature here", at_s, count)
        return Reading(value_c, at_s, GOOD, count)

    def _coil(self, register: int) -> bool | None:
        self._made += 1
        try:
            return bool(self.board.read("coil", register))
        except WireError:
            self._bad += 1
            return None

    def _heating(self) -> bool | None:
        self._made += 1
        try:
            return self.board.read(*self._takes) not in (0, self._off_raw)
        except WireError:
            self._bad += 1
            return None

    def _bit(self, register: int) -> bool | None:
        try:
            return bool(self.board.read("discrete", register))
        except WireError:
            return None

    def _link(self, at_s: float, process: Reading, heat_on: bool | None) -> LinkHealth:
        mute = process.value is None and process.quality in UNHEARD
        bad, unmade = self._bad, self._in_a_tick - self._made
        self._bad = self._made = 0
        if not mute:
            self._process_s = at_s
        if heat_on is not None:
            self._heater_s = at_s
        failed = mute or heat_on is None
        if not failed and self._misses == bad == 0 and not self._failed:
            return SOUND
        if bad:
            self._failed.append((at_s, bad, unmade))
        while self._failed and self._failed[0][0] < at_s - self._window_s:
            self._failed.popleft()
        every = self._every - sum(unmade for _, _, unmade in self._failed)
        share = sum(bad for _, bad, _ in self._failed) / every if every > 0.0 else 1.0
        self._misses = self._misses + 1 if failed else 0
        age_s = at_s - min(self._process_s, self._heater_s)
        return LinkHealth(age_s, self._misses, min(share, 1.0), answers=max(round(every), 0))

    def drive(self, request: HeatRequest) -> bool:
        """Write the heater (and the contactor before the first heat), read it back."""
        board = self.board
        if self._switches and board.clear:
            return self._switch(request.on)
        raw = _raw(self._heater, request)
        table, register = self._takes
        try:
            if raw != self._off_raw and self._has_contactor:
                board.write("coil", 1, 1)
            if self._heater.kind == "set-point":
                board.write("holding", 0, FEED_S)  # an instrument is fed by every set-point that it gets
            self._made += 1
            board.write(table, register, raw)
            self._made += 1
            return board.read(table, register) == raw
        except WireError:
            self._bad += 1
            return False

    def _switch(self, on: bool) -> bool:
        """Write and read back the relay over a sound line: the same as the long way, as `_short`."""
        board = self.board
        free = not board.starved()
        if on and self._has_contactor:
            board.contactor = free
        board.heater = on and free
        return board.heater is on

    def feed(self) -> bool:
        """Refresh the dead-man."""
        if self.board.clear:
            self.board.feed(FEED_S)
            return True
        self._made += 1
        try:
            self.board.write("holding", 0, FEED_S)
        except WireError:
            self._bad += 1
            return False
        return True

    def sound(self, horn: bool, lamp: bool) -> str:
        """Drive horn and lamp; return what was refused."""
        refused = ""
        for register, on in ((2, horn), (3, lamp)):
            try:
                self.board.write("coil", register, 1 if on else 0)
            except WireError as e:
                refused = str(e)
        return refused

    def arm_for_calls(self) -> bool:
        """Its board refuses no calls."""
        return False

    def close(self) -> None:
        """Heat off."""
        self.off()
