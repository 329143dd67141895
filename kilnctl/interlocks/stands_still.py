"""A reading that stands still though it should rise: near the room, at first, or between warm walls."""

from kilnctl.readings import Observation

# Near the room, and this near its goal no more behind it.
NEAR_K, REACHED_K = 60.0, 5.0
# Behind its goal and asked for much heat, by a mean of some seconds; risen, where it has by so much; never by
# less heat. 2 K took half of the heat of the first answer at most, so this share of it is waited for.
MUCH, MUCH_S, RISEN_K, LEAST_S, OF_FIRST = 0.7, 5.0, 2.0, 60.0, 0.8
# A door that no switch tells of may have let cold air and a cold charge in: so much more heat is waited for.
UNSEEN_DOOR = 1.25
# However late the first answer came, no later one is waited for longer.
LONGEST_S = 600.0
# Between two pulses an oven keeps what it got: heat that has brought nothing is forgotten at this rate only.
FORGOTTEN = 0.2
# Little heat adds up too, with nothing forgotten: no sound oven near the room stands still for so much. A PID
# that knows nothing of its oven creeps so for hours (campaign, seed 257708: truly 268 degC, its sensor out,
# at a goal of 90). Less would cut a damp lining that dries: this much boils off half a litre at 2.4 kW.
# Far behind its goal none takes for not even 2 K what is waited for 3.5 times, that is nearly three first
# answers of 12 K (seed 284114: 486 s of heat, after a first answer of 60 s).
SLOW_S, SLOW_OF_FIRST, FAR_K = 600.0, 3.5, 40.0
# What lies between element and sensor holds a sound first answer back by what 202 s of full heat bring; a
# nameplate whose heater is weak would wait for twice as much.
UNMOVED_S = 230.0
# A mean of some seconds that is not warmer than before by a kelvin has not moved at all. Where its model has
# hardly risen either (a learned retort: 2 K in 230 s), it was not due; nor where a sensor half as slow again,
# told in whole kelvins, shows nothing yet (of 3 K it had 1.3).
MOVED_K, MEAN_S, DUE_K = 1.0, 10.0, 5.0
# Warm walls warm what lies between them without any heat: a learned oven that was hot minutes ago and stays
# cold for so long is open, or its sensor is out.
FLAT_S = 110.0


class Stands:
    """A reading that stands still near the room, under most of the heat that the first answer took.

    And for as long as that came after half of its heat: a retort answers a dose minutes after the heat has
    gone off. `asked_s` are seconds of full heat, `rise_k` what they brought.
    """

    def __init__(self) -> None:
        self._first_s = self.asked_s = self.rise_k = self._duty = 0.0
        self._heated: list[tuple[float, float]] = []
        self._late_s = self._stood_s = 0.0
        self._needs_s: float | None = None
        self._lowest_c: float | None = None
        self._slow_s = self._far_s = self._far_stood_s = 0.0
        self._slow_c: float | None = None

    def first(self, seen: Observation) -> None:
        """Count the heat of the first answer, and when it was given."""
        self._first_s += seen.duty_asked * seen.dt_s
        if self._needs_s is None and seen.duty_asked > 0.0:
            self._heated.append((seen.at_s, self._first_s))

    def answered(self, usual: bool, at_s: float) -> None:
        """Remember what it took, and how late it came, where it was the oven's first answer from cold."""
        if not usual or self._needs_s is not None:
            return
        self._needs_s = max(OF_FIRST * self._first_s, LEAST_S)
        half_s = next((then_s for then_s, heat_s in self._heated if heat_s >= self._first_s / 2.0), at_s)
        self._late_s, self._heated = min(at_s - half_s, LONGEST_S), []

    def brought_nothing(self, seen: Observation, process_c: float) -> bool:
        """Return whether so much heat has brought nothing."""
        share = seen.dt_s / MUCH_S
        self._duty += (seen.duty_asked - self._duty) * (1.0 if share > 1.0 else share)
        near, goal_c = process_c - seen.ambient_c <= NEAR_K, seen.setpoint_c
        behind = near and goal_c is not None and goal_c - process_c >= REACHED_K
        lowest_c = process_c if self._lowest_c is None else min(self._lowest_c, process_c)
        self.rise_k = process_c - lowest_c
        slowly = self._slowly(seen, process_c, behind and self._needs_s is not None)
        if self._needs_s is None or not behind or self.rise_k >= RISEN_K:
            self._lowest_c, self.asked_s, self._stood_s = None, 0.0, 0.0
            return False
        if slowly:
            return True
        came_s = seen.duty_asked if self._duty >= MUCH else -FORGOTTEN
        self.asked_s = max(self.asked_s + came_s * seen.dt_s, 0.0)
        stands = self.asked_s > 0.0
        self._lowest_c, self._stood_s = (lowest_c, self._stood_s + seen.dt_s) if stands else (None, 0.0)
        unseen = UNSEEN_DOOR if seen.scan.door_open is None else 1.0
        enough = self.asked_s >= unseen * self._needs_s and self._stood_s >= self._late_s
        return enough and not seen.scan.door_open

    def _slowly(self, seen: Observation, process_c: float, behind: bool) -> bool:
        """Return whether little heat, over however long, has brought nothing; then it is what is told."""
        lowest_c = process_c if self._slow_c is None else min(self._slow_c, process_c)
        rise_k = process_c - lowest_c
        if not behind or rise_k >= RISEN_K or seen.scan.door_open:
            self._slow_c, self._slow_s, self._far_s, self._far_stood_s = None, 0.0, 0.0, 0.0
            return False
        far = (seen.setpoint_c or 0.0) - process_c >= FAR_K
        self._far_s += seen.duty_asked * seen.dt_s if far else 0.0
        self._far_stood_s += seen.dt_s
        self._slow_c, self._slow_s = lowest_c, self._slow_s + seen.duty_asked * seen.dt_s
        unseen = UNSEEN_DOOR if seen.scan.door_open is None else 1.0
        enough_s = SLOW_OF_FIRST * (self._needs_s or SLOW_S)
        far = self._far_s >= unseen * enough_s and self._far_stood_s >= self._late_s
        if self._slow_s < unseen * SLOW_S and not far:
            return False
        self.rise_k, self.asked_s = rise_k, self._slow_s
        return True


class Moved:
    """When the reading last moved by a kelvin, if `ever`, and what was asked and due by then."""

    def __init__(self) -> None:
        self.begin(-273.15, 0.0)

    def begin(self, process_c: float, asked_s: float) -> None:
        """Begin at a reading in degC, with so many seconds of full heat asked before."""
        self._moved_c = self._mean_c = process_c
        self._due_k, self._asked_s, self.ever = 0.0, asked_s, False

    def see(self, process_c: float, due_k: float, asked_s: float, dt_s: float) -> None:
        """Take one reading, the rise that the model expects by now, and the heat asked so far."""
        self._mean_c += (process_c - self._mean_c) * min(dt_s / MEAN_S, 1.0)
        if self._mean_c > self._moved_c + MOVED_K:
            self._moved_c, self._due_k, self._asked_s, self.ever = self._mean_c, due_k, asked_s, True

    def still(self, due_k: float, asked_s: float, factor: float, floor_k: float) -> float:
        """Return how much of what may pass without a move has passed since the last one: 1 is too much."""
        since_k = due_k - self._due_k
        due = since_k / (floor_k + factor * MOVED_K / 2.0)
        return max(due, (asked_s - self._asked_s) / UNMOVED_S) if since_k >= DUE_K else due


class WarmWalls:
    """A reading that stays cold in an oven that was hot minutes ago."""

    def __init__(self) -> None:
        self._warm, self._lowest_c = False, 0.0
        self.flat_s = self.rise_k = 0.0

    def begin(self, warm: bool, process_c: float) -> None:
        """Begin at a reading in degC; `warm` where the walls are known to be."""
        self._warm, self._lowest_c, self.flat_s = warm, process_c, 0.0

    def stays_cold(self, process_c: float, door_open: bool | None, dt_s: float) -> bool:
        """Return whether it has stood for long where warm walls would have warmed it, the door not open."""
        self.flat_s = 0.0 if door_open else self.flat_s + dt_s
        self._lowest_c = process_c if door_open else min(self._lowest_c, process_c)
        self.rise_k = process_c - self._lowest_c
        return self._warm and self.flat_s >= FLAT_S and self.rise_k < RISEN_K
