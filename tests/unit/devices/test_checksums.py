"""Checksums of text lines against published check values."""

import binascii

from kilnctl.devices.checksums import KINDS, crc16, sum8, xor8


def test_the_check_word_of_the_catalogue() -> None:
    """CRC-16 of Modbus RTU over "123456789": 4B37 (Modbus over serial line V1.02, as catalogues print it)."""
    assert crc16(b"123456789") == 0x4B37


def test_a_published_frame_carries_its_own_check() -> None:
    """01 03 00 6B 00 03 ends with 74 17, low byte first (two public test suites agree)."""
    assert crc16(bytes.fromhex("0103006B0003")).to_bytes(2, "little") == binascii.unhexlify("7417")


def test_short_checks_by_hand() -> None:
    assert (xor8(b""), sum8(b"")) == (0, 0)
    assert xor8(b"\x0f\xf0\x01") == 0xFE
    assert sum8(b"\xff\x02") == 0x01


def test_each_kind_fits_its_digits() -> None:
    assert all(check(bytes(range(256))) < 16**digits for check, digits in KINDS.values())
