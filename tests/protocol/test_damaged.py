"""Random damage: no wrong value is acted on beyond what the checksum itself lets through.

A 16-bit checksum lets one in 65,536 random replies through; what it lets through must still survive bounds
and, as a jump, the second look. CI runs a sample; the whole campaign runs by name:
`pytest tests/protocol/test_damaged.py -m on_demand`.
"""

import random

import pytest

TRUE_C = 20.0
SAMPLE, WHOLE = 400, 100_000


def damaged(reply: bytes, draw: random.Random) -> bytes:
    """Return a reply with bits flipped, bytes lost, doubled, replaced, cut or put before."""
    data = bytearray(reply)
    match draw.randrange(6):
        case 0:
            for _ in range(draw.randint(1, 4)):
                data[draw.randrange(len(data))] ^= 1 << draw.randrange(8)
        case 1:
            del data[draw.randrange(len(data)) :]
        case 2:
            del data[draw.randrange(len(data))]
        case 3:
            data.insert(draw.randrange(len(data)), draw.randrange(256))
        case 4:
            data[:] = draw.randbytes(len(data))
        case _:
            data[:0] = draw.randbytes(draw.randint(1, 3))
    return bytes(data)


def campaign(bench, count: int, seed: int) -> tuple[int, int, int]:
    """Damage every reply to a reading of the process sensor; return (wrong, right, refused) readings."""
    draw = random.Random(seed)
    bench.oven_io.connect()
    assert bench.oven_io.scan(0).process.value == TRUE_C
    bench.board.fault = lambda request, reply: [(0.001, damaged(reply, draw))]
    wrong = right = 0
    for tick in range(count):
        value = bench.oven_io.scan(float(tick)).process.value
        right += value == TRUE_C
        wrong += value is not None and value != TRUE_C
        bench.clock.advance(1.0)
    return wrong, right, count - right - wrong


@pytest.mark.parametrize("kind", ["bench", "line_bench"])
def test_sample_of_damaged_replies(kind, request, quick):
    bench = request.getfixturevalue(kind)
    wrong, right, refused = campaign(bench, SAMPLE, seed=1)
    assert wrong == 0
    assert right < SAMPLE * 0.2
    assert refused > SAMPLE * 0.8


def test_plain_text_without_checksum_keeps_to_its_bounds(text_bench):
    """No checksum, so a changed digit inside the pattern passes: but never a jump, never out of range."""
    draw = random.Random(2)
    text_bench.oven_io.connect()
    last_c = text_bench.oven_io.scan(0).process.value
    text_bench.board.fault = lambda request, reply: [(0.001, damaged(reply, draw))]
    for tick in range(SAMPLE):
        value = text_bench.oven_io.scan(float(tick)).process.value
        if value is not None:
            assert -30 <= value <= 400
            assert abs(value - last_c) <= 50
            last_c = value
        text_bench.clock.advance(1.0)


@pytest.mark.on_demand
@pytest.mark.parametrize("kind", ["bench", "line_bench"])
def test_hundred_thousand_damaged_replies(kind, request, quick):
    wrong, right, refused = campaign(request.getfixturevalue(kind), WHOLE, seed=3)
    print(f"\n{kind}: {WHOLE} ticks with damage: {wrong} wrong, {right} right, {refused} refused")
    assert wrong <= WHOLE / 65_536 + 3
