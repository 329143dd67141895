"""All that can be wrong with a board, its wires, its sensors and its line: one flat state, sound at first."""

from dataclasses import dataclass


@dataclass(slots=True)
class Flaws:
    """What is wrong just now. Neutral values mean sound.

    Sensor: `sensor` is "" or open, short, frozen, hung (the conversion counter stops too), displaced;
    `couple` is "" or one of the KINDS of thermocouple_faults; `unit` is "" or fahrenheit, converted-twice.
    `half_out_min`, `slips_min`: minutes in which the couple creeps out until its reading lies half of the
    way, or 15 % of it, towards the terminals' temperature.
    Output: `relay` is "" or welded, open, half-wave; `contactor` is "" or welded, open. `late_open_s`: the
    relay opens so much late; `sticky_share` of its openings are late by 20 s. `ages_to`: what is left of the
    element's power an hour after it began to age; `ajar` the share of an open door that is open unseen.
    Line: `line` is "" or silent, echoed; `late_s` is unscaled; the shares (0..1) are of replies;
    `flipped` of them carry a value with one bit flipped under a valid check sum.
    """

    sensor: str = ""
    displaced_c: float = 60.0
    couple: str = ""
    head_c: float = 60.0
    unit: str = ""
    bias_k: float = 0.0
    drift_k_per_h: float = 0.0
    half_out_min: float = 0.0
    slips_min: float = 0.0
    gain: float = 1.0
    scale: float = 1.0
    noise_k: float = 0.0
    spike_share: float = 0.0
    junction_k: float = 0.0
    junction_dead: bool = False
    second_k: float = 0.0
    second_open: bool = False
    relay: str = ""
    contactor: str = ""
    chatter: bool = False
    late_open_s: float = 0.0
    sticky_share: float = 0.0
    live_wrong: str = ""
    lost_share: float = 0.0
    ages_to: float = 1.0
    volts: float = 1.0
    door: bool = False
    door_bounces_s: float = 0.0
    ajar: float = 0.0
    smoke: bool = False
    fan_stopped: bool = False
    enclosure_c: float | None = None
    ambient_k: float = 0.0
    limit_bridged: bool = False
    dead_man_stuck: bool = False
    dark: bool = False
    boots_on: bool = False
    line: str = ""
    module_silent: bool = False
    late_s: float = 0.0
    split_s: float = 0.0
    damaged: float = 0.0
    short: float = 0.0
    junk: float = 0.0
    swallowed: float = 0.0
    flipped: float = 0.0
    wrong_address: bool = False
    identity: int | None = None
    foreign: bool = False
    collisions: float = 0.0
