"""Samples as compressed blocks of whole numbers, with a short check per row and a chain over the blocks.

The check (CRC-32, ISO 3309) names the row in which something was changed; the chain (SHA-256) is what
somebody would have to rebuild to hide it.
"""

import hashlib
import zlib
from collections.abc import Sequence
from math import nan

import numpy as np
from numpy.typing import NDArray

from kilnctl.errors import RecordError
from kilnctl.logbook.sample import COLUMNS, PER_UNIT, Sample

Ints = NDArray[np.int64]
NULL = np.iinfo(np.int64).min // 4
WIDTH = len(COLUMNS)
_SCALE = np.array(PER_UNIT, dtype=np.float64)
_LARGEST = 1e15
# Measured on a simulated heat, minutes as blocks: level 1 gives 18 bytes a sample with its check, level 9 16
# bytes for five times the work.
_LEVEL = 1


def to_ints(samples: Sequence[Sample]) -> Ints:
    """Return samples as whole steps of each column; None, NaN and absurd numbers become NULL."""
    # One row of numbers after the other: NumPy takes half as long again over a list of rows.
    numbers = [nan if number is None else number for sample in samples for number in sample]
    values = np.array(numbers, dtype=np.float64).reshape(-1, WIDTH) * _SCALE
    known = np.abs(values) < _LARGEST
    return np.where(known, np.rint(np.where(known, values, 0.0)), float(NULL)).astype(np.int64)


def to_floats(ints: Ints) -> NDArray[np.float64]:
    """Return whole steps as values in each column's unit; NULL becomes NaN."""
    return np.where(ints == NULL, np.nan, ints / _SCALE)


def pack(ints: Ints) -> bytes:
    """Return rows as compressed bytes: differences down the columns, small numbers first, then zlib."""
    steps = np.diff(ints, axis=0, prepend=np.zeros((1, WIDTH), np.int64))
    folded = (steps << 1) ^ (steps >> 63)
    planes = np.ascontiguousarray(folded.T).astype("<i8").view(np.uint8).reshape(WIDTH, -1, 8)
    return zlib.compress(planes.transpose(0, 2, 1).tobytes(), _LEVEL)


def unpack(data: bytes, count: int) -> Ints:
    """Return the rows of a block. Raises RecordError where the bytes cannot be a block of `count` rows."""
    try:
        planes = np.frombuffer(zlib.decompress(data), np.uint8).reshape(WIDTH, 8, count)
    except (zlib.error, ValueError, TypeError):
        raise RecordError("the block cannot be unpacked: its bytes were changed or damaged") from None
    folded = np.ascontiguousarray(planes.transpose(0, 2, 1)).view("<i8")[:, :, 0].T
    return np.cumsum((folded >> 1 & np.int64(2**63 - 1)) ^ -(folded & 1), axis=0, dtype=np.int64)


def row_checks(ints: Ints) -> bytes:
    """Return the short checks of all rows, four bytes each."""
    raw, step = ints.astype("<i8").tobytes(), WIDTH * 8
    checks = [zlib.crc32(raw[i : i + step]) for i in range(0, len(raw), step)]
    return np.array(checks, dtype="<u4").tobytes()


def wrong_rows(ints: Ints, checks: bytes) -> list[int]:
    """Return which rows do not fit their short check."""
    stored, seen = np.frombuffer(checks, "<u4"), np.frombuffer(row_checks(ints), "<u4")
    if len(stored) != len(seen):
        return list(range(len(seen)))
    return [int(i) for i in np.nonzero(stored != seen)[0]]


def link(before: bytes, first: int, ints: Ints) -> bytes:
    """Return the chain value of a block that begins at row `first` and follows the value `before`."""
    digest = hashlib.sha256(before)
    digest.update(f"{first}+{len(ints)}:".encode())
    digest.update(ints.astype("<i8").tobytes())
    return digest.digest()
