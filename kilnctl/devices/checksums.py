"""Checksums of text lines. Not those of Modbus frames, which are the library's."""

from collections.abc import Callable
from functools import reduce


def crc16(data: bytes) -> int:
    """Return the CRC-16 of Modbus RTU (start FFFF, reflected polynomial A001); "123456789" gives 4B37."""
    value = 0xFFFF
    for byte in data:
        value ^= byte
        for _ in range(8):
            value = value >> 1 ^ (0xA001 if value & 1 else 0)
    return value


def xor8(data: bytes) -> int:
    """Return all bytes exclusive-ored."""
    return reduce(lambda a, b: a ^ b, data, 0)


def sum8(data: bytes) -> int:
    """Return the low byte of the sum of all bytes."""
    return sum(data) & 0xFF


def lrc8(data: bytes) -> int:
    """Return what makes the sum of all bytes 0: the LRC of Modbus ASCII (serial line guide 1.02, 2.5.2.2)."""
    return -sum(data) & 0xFF


def tail(kind: str, mark: str, left_out: str, text: str) -> str:
    """Return what follows a line: the mark and its checksum, or nothing.

    The checksum does not count the line's first character where that is one of those `left_out`.
    """
    if kind == "none":
        return ""
    function, digits = KINDS[kind]
    summed = text[1:] if text[:1] in left_out else text
    return f"{mark}{function(summed.encode('ascii')):0{digits}X}"


# name in the oven file -> (function, hex digits)
KINDS: dict[str, tuple[Callable[[bytes], int], int]] = {
    "crc16": (crc16, 4),
    "xor8": (xor8, 2),
    "sum8": (sum8, 2),
    "lrc8": (lrc8, 2),
}
