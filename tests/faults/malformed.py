"""Malformed oven, recipe, profile and steel files without end, drawn from a seed."""

import functools
import random
import re
from collections.abc import Callable
from pathlib import Path

from faults.plausible import OVENS, judged

from kilnctl.config import home
from kilnctl.errors import KilnctlError
from kilnctl.profile.write import profile_toml
from kilnctl.treatment.planning import plan
from kilnctl.treatment.recipe.recipes import load_recipe
from kilnctl.treatment.steel.steels import load_steel

PLANNED = 5  # one in so many of the files that are taken is planned too: planning costs far more than loading
KINDS = ("oven", "recipe", "profile", "steel")
JUNK = (
    *(
        "nan",
        "+inf",
        "-inf",
        "0",
        "-1",
        "1",
        "3.5",
        "1e308",
        "-1e308",
        "1e-308",
        "99999999999999999999",
        "0x7f",
        "true",
    ),
    *(
        "false",
        '""',
        '"x"',
        '" "',
        "[]",
        "[[]]",
        "{}",
        "[nan]",
        "[1, 2]",
        "[2, 1]",
        '["870 C"]',
        "{ a = 1 }",
        "1979-05-27",
    ),
    *(
        "07:32:00",
        "1979-05-27T07:32:00Z",
        '"\\u0000"',
        '"\\u001b[2J"',
        '"a\\nb"',
        '"\\u202e"',
        '"é"',
        '"٣ h"',
        "'''x\ny'''",
    ),
    *(
        "9" * 400,
        "9" * 5000,
        "[" * 60 + "]" * 60,
        '"' + "x" * 3000 + '"',
        '"1' + " " * 3000 + '?"',
        "1_0",
        "-0.0",
        "01",
    ),
)
QUANTITIES = (
    *(
        "-{} {}",
        "{}e9 {}",
        "{}000000000 {}",
        "0 {}",
        "{0}",
        "nan {1}",
        "inf {1}",
        "{0} F",
        "{0} K",
        "{0} h",
        "{0} furlong",
    ),
    *(
        "{0}.{0}.{0} {1}",
        "{0},5 {1}",
        "+{} {}",
        "{}.9 {}",
        "{1} {0}",
        "{0}  {1} ",
        "0.000000001 {1}",
        "{0} {1} {1}",
    ),
    *(
        "５ {1}",
        "{0}\\t{1}",
        "{0}:00",
        "--{} {}",
        "999 {1}",
        "3000 {1}",
        "1000000 {1}",
        "-300 {1}",
        "1e400 {1}",
    ),
)
PAIR = re.compile(r"""("[^"\n]*"|[A-Za-z_0-9-]+) = ("[^"\n]*"|\[[^\]\n]*\]|[^,}\n]+)""")
QUANTITY = re.compile(r'"([0-9.]+) ?([A-Za-z/]+)"')
BOTH = (
    b"\xef\xbb\xbf",
    b"\xff\xfe",
    b"\x00",
    b"\x80",
    b"\r",
    b"\n\n[",
    b"\n[[a]]\n",
    b'"""',
    b"#",
    b"\xe2\x80\xa8",
    b"=",
    b"\t",
)


@functools.cache
def sources(kind: str, every: int = 1) -> list[bytes]:
    """Return the sound files of a kind: the bundled ones, or the profile of every n-th bundled plan."""
    if kind != "profile":
        return [path.read_bytes() for path in sorted(home.bundled(f"{kind}s").glob("*.toml"))]
    found = []
    for path in sorted(home.bundled("recipes").glob("*.toml"))[::every]:
        recipe = load_recipe(path)
        for oven in OVENS:
            try:
                made = plan(recipe, load_steel(recipe.steel) if recipe.steel else None, oven)
            except KilnctlError:
                continue
            found.append(profile_toml(made.profile).encode())
    return found


def damaged(sound: bytes, draw: random.Random) -> bytes:
    """Return a file with one to three things wrong."""
    for _ in range(draw.choice((1, 1, 1, 2, 3))):
        sound = draw.choice((_value, _value, _value, _quantity, _quantity, _key, _line, _bytes))(sound, draw)
    return sound


def _value(sound: bytes, draw: random.Random) -> bytes:
    return _replaced(sound, draw, PAIR, lambda m: f"{m[1]} = {draw.choice(JUNK)}")


def _quantity(sound: bytes, draw: random.Random) -> bytes:
    return _replaced(sound, draw, QUANTITY, lambda m: f'"{draw.choice(QUANTITIES).format(m[1], m[2])}"')


def _key(sound: bytes, draw: random.Random) -> bytes:
    def changed(m: re.Match[str]) -> str:
        name = draw.choice(
            ("kind", "x", '""', '"a\\nb"', "source", m[1].upper(), f"{m[1]}.{m[1]}", m[1] + "s")
        )
        return draw.choice(("", f"{m[0]}\n{m[0]}", f"{name} = {m[2]}", m[1], m[2], f"{m[1]} == {m[2]}"))

    return _replaced(sound, draw, PAIR, changed)


def _replaced(
    sound: bytes, draw: random.Random, what: re.Pattern[str], by: Callable[[re.Match[str]], str]
) -> bytes:
    text = sound.decode(errors="surrogateescape")
    found = list(what.finditer(text))
    if not found:
        return sound + b"\nx = 1"
    place = draw.choice(found)
    return (text[: place.start()] + by(place) + text[place.end() :]).encode(errors="surrogateescape")


def _line(sound: bytes, draw: random.Random) -> bytes:
    lines = sound.split(b"\n")
    at, to = draw.randrange(len(lines)), draw.randrange(len(lines))
    match draw.randrange(5):
        case 0:
            del lines[at]
        case 1:
            lines.insert(to, lines[at])
        case 2:
            lines[at], lines[to] = lines[to], lines[at]
        case 3:
            del lines[min(at, to) : max(at, to)]
        case _:
            lines = [line for line in lines if draw.random() > 0.1]
    return b"\n".join(lines)


def _bytes(sound: bytes, draw: random.Random) -> bytes:
    data = bytearray(sound or b"x")
    at = draw.randrange(len(data))
    match draw.randrange(8):
        case 0:
            data[at] ^= 1 << draw.randrange(8)
        case 1:
            del data[at:]
        case 2:
            del data[at : at + draw.randint(1, 40)]
        case 3:
            data[at:at] = draw.randbytes(draw.randint(1, 8))
        case 4:
            data[at:at] = draw.choice(BOTH)
        case 5:
            data[:0] = draw.choice(BOTH)
        case 6:
            data[:] = draw.choice(
                (b"", b"\n", sound * 2, sound.replace(b"\n", b"\r\n"), b"[" * 5000, b"a." * 5000 + b"b=1")
            )
        case _:
            data[:] = draw.randbytes(draw.randint(0, 60))
    return bytes(data)


def campaign(kind: str, folder: Path, seeds: range, every: int = 1) -> tuple[int, int, list[str]]:
    """Damage, load and judge one file for each seed; return how many were taken, refused, and complaints."""
    sound = sources(kind, every)
    place = folder / f"{kind}.toml"
    taken, complaints = 0, []
    for seed in seeds:
        draw = random.Random(f"{kind} {seed}")
        place.write_bytes(damaged(draw.choice(sound), draw))
        was_taken, wrong = judged(kind, place, planned=seed % PLANNED == 0)
        taken += was_taken
        complaints += [f"{kind} {seed}: {what}" for what in wrong]
    return taken, len(seeds) - taken, complaints


def part(kind: str, folder: str, seeds: range) -> tuple[int, int, list[str]]:
    """Judge one share of a campaign in a process of its own."""
    place = Path(folder) / f"{kind}-{seeds.start}"
    place.mkdir()
    return campaign(kind, place, seeds)
