"""What `oven new` asks in words of its own; the guide has the words for keys."""

DEAD_MAN = (
    "Does the board drop its outputs by itself when nothing writes to it (watchdog, time-out, fail-safe), "
    "or a timer relay behind it that must be kept up? A plain off-delay timer behind an output that stays ON "
    "is none: a program that hangs leaves it ON; nor is any timer behind the heater's own output, where each "
    "off would be late by its time (`kilnctl guide timer-relay`)."
)
OWN = (
    "Is it enough to repeat the heater's own command to keep the heat on, and does the heat drop when that "
    "command stops, though the board is still read? y too where any write to an output counts: then the "
    "watchdog needs no other output. Not where a timer relay behind the heater's own output does that: each "
    "off would be late by its time."
)
LAMP = (
    "Is there a lamp at an output that is still free, here or on another board of the bench? From ssh, tmux "
    "or whatever else is not this computer's own screen a heat needs the numbers that it blinks: without "
    "lamp or horn nothing heats from there. It is asked before the watchdog, which may take an output too: "
    "keep one free for it. Where the board has none left, name another board of the bench as one more "
    "device (< leads there)."
)
FUNCTIONS = (
    "with which functions does the board's list write: 5 and 6, or 15 and 16 alone? Type which; Enter for 5 "
    "and 6, and where it has both"
)
SAME_FUNCTIONS = (
    "# multiple: asked because you said 15 and 16 at another number of this device; type 5 or 6 where its "
    "list has that for this one."
)
WRITTEN = (
    "Is there a register that it wants before it heats, such as its RUN, REMOTE or a mode, and which may be "
    "written every second? Or does it take only what is written as a sign of life, so that it cuts its "
    "output though it is read? Either is the dead_man, written with every tick; it is no arm."
)
RENEWED = (
    "Must the set-point itself be written again within a time (the same value will do, reading it does not "
    'count), or else it is "stale", and the instrument stops or goes to stand-by? Where stand-by has a '
    "set-point of its own, set that so low that nothing heats."
)
STAND_BY = "When it cuts its output so, does that register go back to 0, which means stand-by?"
TOLD_STAND_BY = (
    "When it cuts its output so, does that answer go back to the number or word for 0, which is stand-by?"
)
STANDS_BY = (
    "Does it go to stand-by then, so that a mode or RUN register reads 0 and must be written again before it "
    "heats? That register is the dead_man, written with every tick and read back; it is no arm."
)
TOLD_STANDS_BY = (
    "Does it go to stand-by then, so that it must be told to run again before it heats, and does one of its "
    "answers tell which of the two it is? That is the dead_man, sent with every tick and read back; it is no "
    "arm."
)
MODE_ONCE_ARMED = (
    "When the line is silent for its time, does what was just named go back to 0 by itself, as a mode or RUN "
    "register does in stand-by? Then it is the dead_man, written with every tick and read back; it is no arm."
)
NOW_THE_DEAD_MAN = "# So it is the dead_man, with zero_drops, and back of output.heater; no arm."
MODE_IN_AN_ANSWER = "the answers have {}: which of them tells that it runs or stands by?"
TIME_IN_A_REGISTER = (
    "Has that time a register of its own that takes a shorter one, 10 s or less? It is written before each "
    "heat then, as an arm that the device keeps."
)
ARM_BESIDE = (
    "Must anything else be written once before the heat can come on: its time-out, its latch cleared? Not "
    "the mode that is the dead_man."
)
BESIDE = (
    "The heater's own command must come again (holds). Must anything else be written again and again, "
    "or is a timer relay wired behind the board?"
)
ARM = (
    "Must anything be written once before the heat can come on: the watchdog's time or arming, its latch "
    "cleared, RUN or REMOTE?"
)
OFF_WRITES = (
    "# Off of output.heater writes this already, before every heat: nothing is to be added. Left out."
)
ONE_MORE_ARM = "Anything else that is written once, after that?"
TIMER = (
    "Is a timer relay wired behind the board, kept up by the edges of another of its outputs? Not a plain "
    "off-delay timer behind an output that stays ON: a program that hangs leaves it ON. And no timer, a "
    "one-shot neither, behind the heater's own output, where each off would be late by its time."
)
OFF_TOO = (
    "# Off is written too, and must be taken at once. An output that takes only ON, and waits until its time "
    "or a timer's is over, must not heat: `kilnctl guide oven-file`, What cannot be used."
)
WITNESS = (
    "! {0} must open as soon as the heater's own output opens, though the timer still runs. If it sits "
    "on a contactor that the timer alone holds, it shows the timer, not the heat: it is back of dead_man."
)
KEEPS = (
    'Does the board keep this register without power (its list says "stored", "kept", "EEPROM", or so many '
    "writings)?"
)
TOLD_KEEPS = (
    'Does the board keep what this line sets without power (its list says "stored", "kept", "EEPROM", or so '
    "many writings)?"
)
READ_FEEDS = (
    "Is it enough to read it: does any request that the board answers begin the watchdog's time again, "
    "though nothing is written?"
)
IS_READ = "# So it is read every second, and written only where it reads otherwise (stored = true)."
WEARS_OUT = (
    "Written every second, such a memory is worn out in 28 hours of heat. Name something else that feeds the "
    "watchdog: a spare coil, a register that the board does not keep; or leave it out (`<` back to "
    "dead_man, n) where the heater's own command feeds it (holds)."
)
IDENTITY = "Does the board's table name a register that always holds one number, by which it can be known?"
BEFORE_HEAT = (
    "an independent over-temperature limit is fitted, with its own sensor and hand reset, which cuts the "
    "heat by its own contactor or breaks the element's circuit itself",
    "a second switching device is in series with the one that regulates; the limit's contactor may be it",
    "something drops the heat when the computer is gone (a board's watchdog, a timer relay: `kilnctl guide "
    "timer-relay`), or an instrument regulates by itself and somebody stays",
    "somebody can prove to be there: at this computer's own screen (a text console, or a window at its own "
    "seat, never ssh), or by a lamp on a spare output of any board of the bench, which the oven blinks",
)
WILL_NOT_HEAT = "This oven will not heat until:"
REGULATES = (
    "Is it sent a temperature, which the device then keeps by itself (a set-point)? n where it is switched "
    "on and off, or takes a power."
)
ANY_BUILD = (
    "Not known: until it is learned it counts as the lightest (fibre), whose first pulses are the shortest. "
    "So a heavy oven begins slowly, and no set-up step fails for it."
)
TIMED = (
    "Do you know how soon it is hot from cold at full heat, by a clock or its maker's leaflet? To which "
    "temperature (200 C tells the heater pulse most), and how long it takes. Enter or ? if nobody has timed "
    "it: then it goes by its build."
)
POWER = (
    "# Which number is full heat? Where the command takes a power, such as 0 to 100, that is the highest one."
)
BETWEEN = "Does it take any number between, such as half of it?"
ANYTHING_ELSE = "Is anything odd about it? Type the name of its key, else press Enter. Left are:"
EXPONENT = "Does another register of the device tell where the decimal point of this one is?"
DECIMALS = "Does it count decimals, so that 1 means tenths?"
MORE = {
    "port": "Is there one more adapter or address? Type a short name for it, or Enter for nothing more:",
    "device": "Is there one more device, of this or another kind? Type a short name for it, or Enter:",
    "signal": "Is anything else measured or reported? Type one name, or Enter for nothing more:",
    "output": "Is anything else switched? Type one name, or Enter for nothing more:",
}
