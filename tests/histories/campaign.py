"""Many histories side by side, with a line of progress and a file of results.

From the folder of the tests: `python -m histories.campaign --count 2000 --jobs 8 --long --out FILE`. Every
line of the file is one history; `python -m histories.history SEED [--long]` plays it again.
"""

import argparse
import json
import sys
import time
from collections import Counter
from collections.abc import Iterable, Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

from histories.forking import Nursery, shared
from histories.history import drawn, play


def one(seed: int, long: bool, nursery: Nursery | None = None) -> dict[str, Any]:
    """Play one history; return what is kept of it."""
    began_s = time.monotonic()
    wrong, what = play(seed, long, nursery)
    return {
        "seed": seed,
        "long": long,
        "forked": nursery is not None,
        "real_s": round(time.monotonic() - began_s, 1),
        "wrong": [{"rule": w.rule, "oven": w.oven, "say": w.say} for w in wrong],
        "steps": [step.line() for step in drawn(seed, long)],
        **{key: value for key, value in what.items() if key != "lines"},
        "lines": what["lines"] if wrong else [],
    }


def many(seeds: Iterable[int], jobs: int, long: bool = False, loading: int = 1) -> Iterator[dict[str, Any]]:
    """Play histories side by side; give each as it ends, in the order of the seeds.

    Every `loading`-th seed is played with processes that load what they need, as they really do; the others
    are forked, which takes a fifth of the processor.
    """
    with ThreadPoolExecutor(jobs) as pool:
        yield from pool.map(lambda seed: one(seed, long, shared() if seed % loading else None), seeds)


def summary(results: Iterable[dict[str, Any]]) -> dict[str, Any]:
    """Count what was played and what was wrong."""
    done = list(results)
    offs = [off for result in done for off in result["offs"]]
    return {
        "histories": len(done),
        "with violations": sum(bool(result["wrong"]) for result in done),
        "by rule": dict(Counter(w["rule"] for result in done for w in result["wrong"])),
        "seeds": [result["seed"] for result in done if result["wrong"]],
        "offs": len(offs),
        "offs by code": dict(Counter(str(code) for code, _ in offs)),
        "off seconds, median": sorted(s for _, s in offs)[len(offs) // 2] if offs else None,
        "off seconds, longest": max((s for _, s in offs), default=None),
        "ovens heated": sum(result["ovens heated"] for result in done),
        "trips": sum(result["trips"] for result in done),
    }


def main() -> int:
    """Play a range of seeds and write the results."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--first", type=int, default=1)
    parser.add_argument("--count", type=int, default=2000)
    parser.add_argument("--jobs", type=int, default=8)
    parser.add_argument("--long", action="store_true")
    parser.add_argument("--loading", type=int, default=10, help="every so many seeds nothing is forked")
    parser.add_argument("--out", type=Path, required=True)
    args = parser.parse_args()
    done = []
    with args.out.open("a", encoding="utf-8") as out:
        for result in many(range(args.first, args.first + args.count), args.jobs, args.long, args.loading):
            done.append(result)
            print(json.dumps(result), file=out, flush=True)
            wrong = sum(bool(r["wrong"]) for r in done)
            print(f"\r{len(done)} of {args.count} histories, {wrong} with violations", end="", flush=True)
    print("\n" + json.dumps(summary(done), indent=1))
    return min(1, sum(bool(r["wrong"]) for r in done))


if __name__ == "__main__":
    sys.exit(main())
