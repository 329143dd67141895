"""Mistakes in the oven file itself, told before any wire."""

from faults.planted.bench import DEAD_MAN, Mistake

MISTAKES = [
    Mistake(
        "a plausible range above the room",
        "oven check",
        "low.*ambient",
        'low = "-20 C"',
        'low = "25 C"',
        never="leads|check sensor|No other order",
    ),
    Mistake("no dead-man in the file", "oven check", "no dead-man. The ways are", DEAD_MAN, ""),
    Mistake(
        "two outputs on one coil",
        "oven check",
        "share coil 0 of relays",
        "register = 1\n[[",
        "register = 0\n[[",
    ),
    Mistake("a limit without a unit", "oven check", r"limit.*unit", '"1000 C"', "1000"),
    Mistake("a key misspelt", "oven check", r"unknown key", "baud = 19200", "bauds = 19200"),
    Mistake(
        "a word for on",
        "oven check",
        "on and off are numbers",
        "register = 1\n[[",
        'register = 1\non = "ON"\n[[',
    ),
    Mistake(
        "heater among the inputs",
        "oven check",
        "cannot be written",
        'table = "coil"\nregister = 0',
        'table = "input"\nregister = 9',
    ),
    Mistake("sensor ends below the limit", "oven check", "must lie above the limit", '"1300 C"', '"900 C"'),
    Mistake(
        "an address on the internet",
        "oven check",
        "never heated over the internet",
        'path = "PATH"\nbaud = 19200',
        'path = "tcp://8.8.8.8:502"',
    ),
]
