"""What each simulated fault must lead to: which interlock may name it, how soon, or why software is blind."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Expected:
    """The row of one fault. `within_s` counts seconds of wanted heat since the fault began.

    `causes` are the interlocks that may name it; none: the heat may go on, or end for a consequence.
    `needs` names signals of the oven file without which nobody can see it; `blind` says what stands in
    when software does not see it; `rows` are the hazards of the table.
    """

    rows: str
    causes: tuple[str, ...] = ()
    within_s: float = 0.0
    needs: tuple[str, ...] = ()
    blind: str = ""
    value: tuple[float, ...] = ()


_WRONG = ("sensor_moves", "sensor_lost", "two_sensors", "energy_balance", "sensor_answer")
_DEAD = ("heater_dead", "energy_balance", "no_progress", "sensor_answer", "output_disobeys")
_STUCK = ("heat_without_demand", "energy_balance", "rising_while_off", "over_temperature")
_LIMIT = "the independent limit with its own sensor"
_CHECK = "dated reference check; a second sensor shows it"
_STEP = ("link_lost", "sensor_lost", "output_disobeys", "heat_without_demand")

EXPECTED: dict[str, Expected] = {
    "sensor-open": Expected("H01", ("sensor_lost",), 3.0),
    "sensor-short": Expected("H02", _WRONG, 15.0, blind=_LIMIT),
    "sensor-reversed": Expected("H03", _WRONG, 30.0, blind=_LIMIT),
    "sensor-reversed-twice": Expected("H04", _WRONG, 60.0, ("second",), _CHECK),
    "sensor-copper": Expected("H04", _WRONG, 60.0, ("second",), _CHECK),
    "sensor-displaced": Expected("H05 H06", _WRONG, 120.0),
    "sensor-drift": Expected("H07", _WRONG, 7200.0, ("second",), _CHECK, (-10.0, -25.0)),
    "sensor-frozen": Expected("H08", ("sensor_frozen", "energy_balance", "no_progress"), 300.0),
    "sensor-hung": Expected("H08", ("sensor_frozen", "energy_balance", "no_progress"), 300.0),
    "sensor-noise": Expected("H09", ("sensor_noise", "sensor_moves", "sensor_lost", "two_sensors"), 60.0),
    "sensor-spikes": Expected("H09", ("sensor_noise", "sensor_moves", "sensor_lost"), 120.0),
    "sensor-k-as-j": Expected("H10", _WRONG, 60.0, ("second",), _CHECK),
    "sensor-fahrenheit": Expected("H11", (*_WRONG, "over_temperature"), 30.0, blind=_LIMIT),
    "sensor-converted-twice": Expected("H11", _WRONG, 30.0, ("second",), _LIMIT),
    "cold-junction-off": Expected("H12", _WRONG, 60.0, blind="the check of a cold start", value=(6.0,)),
    "sensor-scale": Expected("H13", _WRONG, 15.0, blind=_LIMIT),
    "sensor-gain": Expected("H14", (*_WRONG, "over_temperature"), 60.0, ("second",), _CHECK),
    "second-offset": Expected("H16", ("two_sensors", "over_temperature"), 35.0, ("second",), "needs one"),
    "relay-welded": Expected("H17", _STUCK, 240.0),
    "relay-open": Expected("H18", _DEAD, 180.0),
    "relay-chatter": Expected("H19", ("chatter", *_DEAD), 300.0, blind="the contact at the element"),
    "half-wave": Expected("H21", _STUCK, 460.0),
    "element-dead": Expected("H24", _DEAD, 600.0, blind="arrival is late and told; the heat is not too hot"),
    "supply-factor": Expected("H27", blind="told as low supply where volts are measured", value=(0.85,)),
    "supply-lost": Expected("H26 H54", ("supply", *_DEAD), 180.0),
    "contactor-open": Expected("H26", _DEAD, 180.0),
    "board-reset": Expected("H23", _STEP, 30.0, blind="a restart within a tick: output off, heat goes on"),
    "replies-silent": Expected("H30", ("link_lost",), 6.0),
    "replies-damaged": Expected("H31", ("link_lost", "sensor_lost", "output_disobeys"), 30.0),
    "replies-echoed": Expected("H32", ("link_lost",), 6.0),
    "door-open": Expected("H56", ("door_open",), 130.0, ("door_open",)),
    "smoke": Expected("H70", ("smoke",), 2.0, ("smoke",), "a smoke alarm that wakes somebody"),
    "fan-stopped": Expected("H74", ("fan_stopped", *_WRONG), 15.0, ("fan_on",), "no fan contact"),
    "enclosure-hot": Expected("H75", ("hot_box",), 3.0, ("enclosure",), "no sensor in the relay box"),
    "live-says-on": Expected("H17", ("heat_without_demand", "chatter"), 30.0, ("heater_live",)),
    "live-says-off": Expected("H18", ("heater_dead", "chatter"), 30.0, ("heater_live",)),
}
# Rows of the table that no fault of a simulated board stands for, and what stands for them.
ELSEWHERE = {
    "H15": "crossed channels: the heater pulse of the set-up, and two ovens under one controller",
    "H20": "not detectable by software: isolate before touching; words at the drop test",
    "H22": "as H15",
    "H25": "trend of the learned power, between heats",
    "H28": "supply interlock, unit tests",
    "H29": "drop test of each barrier, dated",
    "H33": "identity register, protocol tests",
    "H34": "identity register, strangers on the bus, protocol tests",
    "H35": "strict pairing of replies, protocol tests",
    "H36": "exclusive port, strangers on the bus, protocol tests",
    "H37": "identity register, protocol tests",
    "H38": "supervisor and late tick, tests with real processes",
    "H39": "outermost handler and supervisor, tests with real processes",
    "H40": "supervisor, then the board's dead-man, tests with real processes",
    "H41": "latch found at start, unit tests",
    "H42": "clock interlock, unit tests",
    "H43": "clock interlock, unit tests",
    "H44": "logbook tests with a full disk",
    "H45": "logbook tests with a locked file",
    "H46": "checksum of the oven file, arming",
    "H47": "link tests: a dead screen delays no tick",
    "H48": "supervisor interlock, unit tests",
    "H49": "resume table",
    "H50": "resume table",
    "H51": "resume table",
    "H52": "resume table",
    "H53": "resume table",
    "H55": "not detectable by software: the board's dead-man, normally-open wiring",
    "H57": "over-temperature interlock; judged in every heat of the campaign",
    "H58": "control interlock, unit tests",
    "H59": "units in files, unit tests",
    "H60": "envelope check before the heat",
    "H61": "not detectable by software: the acknowledged line",
    "H62": "no delayed start without a door that stayed shut",
    "H63": "not detectable by software: a person with a thermometer at the bath",
    "H64": "not detectable by software: look at the oil before the heat",
    "H65": "operator step with a maximum wait, profile tests",
    "H66": "horn and messages, dated; the phone is no protective layer",
    "H67": "local start only; the socket is the owner's",
    "H68": "not detectable by software: dedicated oven, asked at the set-up",
    "H69": "not detectable by software: ventilation, CO alarm; detector input where fitted",
    "H71": "not detectable by software: the acknowledged line",
    "H72": "door switch in the element's circuit; the key before opening",
    "H73": "the sign stays lit until it is cold",
    "H76": "limit test, dated value",
    "H77": "learning runs inside all interlocks",
    "H78": "one owner per port; heat without demand",
    "H79": "identity of the simulator, protocol tests",
}
