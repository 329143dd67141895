"""What an oven file may not say: each a mistake that somebody has made with a wire or a register table."""

from itertools import combinations

from kilnctl.config.device_keys import (
    ADDRESSES,
    OWN_UNITS,
    Device,
    LineDevice,
    ModbusDevice,
    Port,
    TextDevice,
)
from kilnctl.config.line_parts import COMMAND, PART, VALUE
from kilnctl.config.places import Place
from kilnctl.config.port_path import real
from kilnctl.config.wiring import (
    Arm,
    DeadMan,
    DeviceIdentity,
    Heater,
    Output,
    Outputs,
    Signals,
    Temperature,
    Written,
    wired,
)
from kilnctl.tomlfile import wrong

MOVE = "`kilnctl oven change OVEN output.heater.back` makes the arm that"
LONGEST_FEED_S = 30  # of the line protocol
LEAST_STEPS, HIGHEST_STEP_K = 10, 10.0  # of a duty; of a set-point
READ_ONLY = ("discrete", "input")
_RANGE = {"int16": (-32768, 32767), "uint16": (0, 65535)}


def check_wiring(
    ports: dict[str, Port],
    devices: dict[str, Device],
    signals: Signals,
    outputs: Outputs,
    dead_man: DeadMan | None,
    identity: tuple[DeviceIdentity, ...],
    arm: tuple[Arm, ...] = (),
) -> None:
    """Raise a validation error that names the first thing that cannot be."""
    places = wired(signals, outputs, dead_man)
    for name, device in devices.items():
        if device.port not in ports:
            raise wrong("port", f'device "{name}" names port "{device.port}", which the file does not have')
        if ports[device.port].path.startswith("tcp://") and not isinstance(device, ModbusDevice):
            raise wrong("port", f'device "{name}": tcp:// carries Modbus only; write socket:// in the path')
        if isinstance(device, LineDevice):
            _is_8n1(name, ports[device.port])
        if isinstance(device, ModbusDevice):
            _may_have_its_address(name, device, ports[device.port])
            _has_eight_bits(name, ports[device.port])
        else:
            _has_no_frames(name, ports[device.port])
    arms = [(f"arm.{number}", place) for number, place in enumerate(arm, 1)]
    for name, place in [*places, *(("identity", place) for place in identity), *arms]:
        if place.device not in devices:
            raise wrong("device", f'{name}: "{place.device}" is no device of this file')
        _fits_its_device(name, place, devices[place.device])
        if isinstance(devices[place.device], LineDevice):
            _fits_the_line_protocol(name, place)
    _exponents_are_at_home(places)
    mode = mode_read_back(outputs.heater, dead_man)
    _one_thing_per_address([(name, place) for name, place in places if place is not mode])
    _is_not_worn_out(arm, dead_man)
    for one in arms:
        _one_thing_per_address([one, *((name, place) for name, place in places if name != "dead_man")])
    _couples_have_a_junction(signals)


def _is_not_worn_out(arms: tuple[Arm, ...], fed: DeadMan | None) -> None:
    for arm in arms if fed is not None and not fed.stored else ():
        if arm.stored and fed is not None and (arm.device, arm.where) == (fed.device, fed.where):
            cure = "write stored = true there too if reading it feeds the watchdog, or name what else does"
            raise wrong("stored", f"dead_man: the board keeps {fed.where} without power, by arm: {cure}")


def check_ports(ports: dict[str, Port]) -> None:
    """Raise a validation error where two ports of a file are one line with two settings."""
    for (name, port), (other, taken) in combinations(ports.items(), 2):
        if real(port.path) == real(taken.path) and port.settings != taken.settings:
            said = f"port.{name} and port.{other} are one line, and a line has one speed and parity"
            cure = "set the devices alike, or give one of them an adapter of its own"
            raise wrong("port", f"{said}: {cure}")


def _may_have_its_address(name: str, device: ModbusDevice, port: Port) -> None:
    on_tcp = port.path.startswith("tcp://")
    if device.address not in ADDRESSES and not (on_tcp and device.address in OWN_UNITS):
        also = " or 0 or 255, behind tcp:// in the path" if on_tcp or device.address in OWN_UNITS else ""
        raise wrong("address", f"device.{name}.address: must be 1 to 247{also}")


def _fits_its_device(name: str, place: Place, device: Device) -> None:
    if isinstance(device, ModbusDevice):
        _fits_modbus(name, place)
        _has_steps(name, place)
    elif place.says("table") or place.says("register_no"):
        raise wrong("place", f"{name}: table and register are for modbus devices; give field")
    elif isinstance(place, Written) and place.bit is not None:
        raise wrong("place", f"{name}: one bit is written on modbus devices only; give its line under tell")
    elif not place.field and not isinstance(place, DeadMan):
        raise wrong("place", f"{name}: needs field, the name of the value")
    elif isinstance(device, TextDevice):
        _has_its_lines(name, place, device)
        _has_steps(name, place)


def _has_steps(name: str, place: Place) -> None:
    """A duty of too few steps is on and off; one that is no whole number of them never reaches its ends."""
    if not isinstance(place, Heater) or place.kind not in ("duty", "set-point"):
        return
    if place.reads_on is not None or place.reads_off is not None:
        raise wrong(
            "heater", f"{name}: a {place.kind} reads as it is written; take reads_on and reads_off out"
        )
    if place.kind == "set-point":
        step_k = place.step * abs(place.scale) / (1.8 if place.unit == "F" else 1.0)
        if step_k > HIGHEST_STEP_K:
            raise wrong("heater", f"{name}: a step of {step_k:g} K is too coarse for a set-point")
        return
    if place.is_float:
        return
    steps = abs(place.on - place.off) / place.step
    if steps < LEAST_STEPS:
        said = f"{place.off} to {place.on} in steps of {place.step:g} is little more than off and on"
        raise wrong("heater", f"{name}: {said}: write full heat as on, or a finer step, such as step = 0.01")
    if abs(steps - round(steps)) > 1e-6:
        raise wrong("heater", f"{name}: from off {place.off} no whole number of steps leads to on {place.on}")


def _fits_modbus(name: str, place: Place) -> None:
    if not place.says("table") or not place.says("register_no"):
        raise wrong("place", f"{name}: needs table and register")
    if place.field:
        raise wrong("place", f"{name}: field is for text and line devices; give table and register")
    if isinstance(place, Written) and place.table in READ_ONLY:
        raise wrong("place", f"{name}: {place.table} cannot be written; give a coil or holding register")
    if isinstance(place, Written) and place.format == "bit":
        raise wrong("place", f'{name}: take format = "bit" out; bit = 0 to 15 is one bit of a register')
    if isinstance(place, Output) and place.bits_table and place.format == "uint32":
        cannot = "a board that takes several coils in one request only cannot be used"
        raise wrong("value", f"{name}: two numbers each are two registers, and a coil is one bit; {cannot}")
    if isinstance(place, Heater) and place.bit is not None and place.kind in ("duty", "set-point"):
        raise wrong("place", f"{name}: a {place.kind} is a whole register, not one bit of it")
    if isinstance(place, Written) and not place.is_float:
        _values_fit(name, place)
    if place.mask is not None and (place.is_float or place.bit is not None or isinstance(place, Written)):
        raise wrong("place", f"{name}: a mask takes some bits of a whole number that is read; give no bit")
    _off_is_a_cleared_bit(name, place)
    if place.bits_table and place.bit is not None:
        raise wrong("place", f"{name}: bit is for registers; a {place.table} is one bit already")


def _values_fit(name: str, place: Written) -> None:
    names = ("on", "off") if isinstance(place, Output) else ("write", "then", "counts_to")
    values = [value for key in names if (value := getattr(place, key, None)) is not None]
    low, high = (
        (0, 1)
        if place.bits_table or place.bit is not None
        else _RANGE.get(place.format, (-(2**31), 2**32 - 1))
    )
    for value in values:
        if not low <= value <= high:
            holds = "a coil" if place.bits_table else "one bit" if place.bit is not None else place.format
            raise wrong("value", f"{name}: {value} does not fit {holds} ({low} to {high}); check format")


def _off_is_a_cleared_bit(name: str, place: Place) -> None:
    """What nobody has written yet is 0 in a word of several outputs, so 0 must mean off."""
    if isinstance(place, Output) and place.bit is not None and place.off != 0:
        raise wrong("value", f"{name}: in a register of bits off is 0, or one output would switch another on")


def _has_eight_bits(name: str, port: Port) -> None:
    if port.data_bits == 7 and port.frames == "rtu":
        raise wrong(
            "port", f'device.{name}: Modbus RTU has 8 data bits; write frames = "ascii" with data_bits = 7'
        )


def _has_no_frames(name: str, port: Port) -> None:
    if {"frames", "echoes"} & port.model_fields_set:
        raise wrong(
            "port", f"{name}: frames and echoes at a port are for Modbus; a text board has its own keys"
        )


def _is_8n1(name: str, port: Port) -> None:
    if (port.data_bits, port.parity, port.stop_bits) != (8, "none", 1):
        raise wrong(
            "port",
            f"{name}: the line protocol has 8 data bits, no parity and one stop bit; take the keys out",
        )


def _fits_the_line_protocol(name: str, place: Place) -> None:
    """A switch is 0 or 1, a duty 0 to 1000, and the board counts the seconds that it is fed for."""
    if isinstance(place, Arm):
        raise wrong("arm", f"{name}: a line board is armed by FED, the dead_man; take it out")
    if isinstance(place, DeadMan):
        _feeds_a_line_board(name, place)
    if not isinstance(place, Output):
        return
    kind = place.kind if isinstance(place, Heater) else "switch"
    if kind not in ("switch", "duty"):
        raise wrong("kind", f"{name}: a line board has switches and duties, no {kind}")
    on = 1000 if kind == "duty" else 1
    if (place.on, place.off) != (on, 0):
        raise wrong("value", f"{name}: on a line board a {kind} is {on} for on and 0 for off")


def _feeds_a_line_board(name: str, place: DeadMan) -> None:
    if place.then is not None or place.counts_to is not None or place.stored:
        other = "take then, counts_to and stored out"
        raise wrong("write", f"{name}: a line board counts the seconds of FED; {other}")
    if not 1 <= place.write <= LONGEST_FEED_S:
        raise wrong("write", f"{name}: write is the seconds of FED, 1 to {LONGEST_FEED_S}")
    if place.zero_drops:
        raise wrong("write", f"{name}: a line board takes no FED 0; take zero_drops out")
    if place.drops_after_s != place.write:
        feeds = f"FED {place.write} lets the heat stay on for {place.write} s"
        raise wrong("write", f'{name}: {feeds}: write drops_after = "{place.write} s"')


def _has_its_lines(name: str, place: Place, device: TextDevice) -> None:
    parts = [part for told in device.tell.values() for part in PART.findall(told.send)]
    beside = [one for one, _ in parts if one != VALUE]
    for one in beside:
        if one not in device.tell:
            raise wrong("tell", f"{{{one}}} stands in a line of tell, and there is no tell.{one}")
    if isinstance(place, Output) and place.field in beside and place.off != 0:
        raise wrong("value", f"{name}: a line that sets two outputs needs off = 0 for the one beside")
    if isinstance(place, Written) and place.field not in device.tell:
        raise wrong("tell", f"{name}: the device has no tell.{place.field} that says how it is written")
    _says_which(name, place, device)
    kept = isinstance(place, Arm | DeadMan) and place.stored
    read = (kept or not isinstance(place, DeadMan | Arm)) and not name.endswith(("horn", "lamp"))
    back = isinstance(place, Output) and place.back is not None
    words = device.words.get(place.field)
    if words and isinstance(place, Output) and not {place.on, place.off} <= set(range(len(words))):
        raise wrong("value", f"{name}: on and off count the words of words.{place.field}, from 0")
    told = {one for ask in device.ask for one, _ in PART.findall(ask.reply)}
    if read and not back and place.field not in told:
        other = " (an output may have its contact as `back`)" if isinstance(place, Output) else ""
        raise wrong("ask", f"{name}: no reply of ask has {{{place.field}}}, so it cannot be read{other}")
    if isinstance(place, Output) and not words:
        _fits_its_picture(name, place, device)


def _says_which(name: str, place: Place, device: TextDevice) -> None:
    """A line without {value} is the same for on and off, and for a 0: an off would switch on."""
    line = device.tell[place.field].send if isinstance(place, Written) else ""
    if not isinstance(place, Written) or any(one == VALUE for one, _ in PART.findall(line)):
        return
    if isinstance(place, Output):
        said = "on and off would be sent by the same line"
    elif isinstance(place, DeadMan) and (place.zero_drops or place.then is not None or place.counts_to):
        said = "it is always the same line; take zero_drops, then and counts_to out"
    else:
        return
    raise wrong("tell", f"{name}: {line!r} has no {{value}} where its number or word stands: {said}")


def _fits_its_picture(name: str, place: Output, device: TextDevice) -> None:
    """A number that is wider than its picture would be another line than the board knows."""
    for part, picture in PART.findall(device.tell[place.field].send):
        whole = picture.strip("+ ").partition(".")[0]
        most = (16 if whole.startswith(("X", "x")) else 10) ** len(whole)
        if part == VALUE and len(whole) > 1 and max(place.on, place.off) >= most:
            raise wrong("value", f"{name}: {max(place.on, place.off)} is wider than {{value:{picture}}}")


def mode_read_back(heater: Heater, dead_man: DeadMan | None) -> Place | None:
    """Return the `back` of an instrument that is its mode, fed as the dead-man and 0 in stand-by."""
    back = heater.back
    if back is None or dead_man is None or heater.kind != "set-point" or not dead_man.zero_drops:
        return None
    at_home = (back.device, back.where) == (dead_man.device, dead_man.where)
    in_words = back.field and (dead_man.device, dead_man.field) == (back.device, f"{back.field}{COMMAND}")
    return back if at_home or in_words else None


def _one_thing_per_address(places: list[tuple[str, Place]]) -> None:
    for (name, place), (other, taken) in combinations(places, 2):
        for address in sorted(_occupies(place) & _occupies(taken)):
            if _bits(place) & _bits(taken):
                shared = f"share {address.removeprefix(place.device + ' ')} of {place.device}"
                raise wrong("shared", f"{name} and {other} {shared}; {_cure_of_shared({name, other})}")


def _cure_of_shared(names: set[str]) -> str:
    arms = any(name.startswith("arm.") for name in names)
    if any(name.endswith(".back") for name in names):
        if arms:
            return (
                f"a mode that is written for heat is the dead_man, with zero_drops = true, not an arm: {MOVE}"
            )
        if names == {"output.heater.back", "dead_man"}:
            return "where a 0 there is stand-by, write zero_drops = true in dead_man; else leave one out"
        return "one contact is only one of them: leave one out"
    if "output.heater" in names and arms:
        return "off writes its number for off before every heat: leave out an arm that writes the same"
    return "one of them is wrong"


def _bits(place: Place) -> int:
    """Return which bits of its registers a place takes."""
    return 1 << place.bit if place.bit is not None else place.mask or -1


def _occupies(place: Place) -> set[str]:
    if place.field or not place.says("register_no"):
        return {f"{place.device} {place.where}"}
    numbers = range(place.register_no, place.register_no + place.registers)
    return {f"{place.device} {place.table} {number}" for number in numbers}


def _exponents_are_at_home(places: list[tuple[str, Place]]) -> None:
    """A value and its exponent come from one device, or one of them might be another moment's."""
    for name, place in places:
        exponent = place.exponent if isinstance(place, Temperature) else None
        if exponent is not None and exponent.device != place.device:
            raise wrong("exponent", f"{name}.exponent: must be in the device of the value, {place.device}")


def _couples_have_a_junction(signals: Signals) -> None:
    for name, place in (("process", signals.process), ("second", signals.second), ("load", signals.load)):
        if place is None or place.unit != "mV":
            continue
        if place.couple == "other":
            raise wrong("couple", f"signal.{name}: a voltage in mV needs couple, the letter of its type")
        if not isinstance(signals.cold_junction, Temperature):
            raise wrong("couple", f"signal.{name}: a voltage in mV needs signal.cold_junction")
