"""The great campaign and the page of hazards that it makes.

    python -m tests.bench.campaign heats OUT.jsonl --seeds 0 10000 [--sound] [--long]
    python -m tests.bench.campaign rooms OUT.jsonl --seeds 0 500 [--sound]  (two ovens beside each other)
    python -m tests.bench.campaign drills OUT.jsonl --seeds 0 2000      (set-up drills)
    python -m tests.bench.campaign page OUT.jsonl... --commit HASH > kilnctl/rehearsal/HAZARDS_SEEN.md
    python -m tests.bench.campaign lateness > kilnctl/rehearsal/LATENESS.md
    python -m tests.bench.campaign replay SEED [--every 60]

Heats that stand in OUT.jsonl already are not run again, so that a long campaign may be stopped at any time
(q, Ctrl-C). Every heat follows from its seed. Run it with `nice`. A compiled build of this source
(`python -m kilnctl.rehearsal.compiling`) is used where it is there: the same verdicts, twice as fast or more.
"""

import argparse
import sys
from pathlib import Path

from kilnctl.rehearsal import compiled


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    words = parser.add_subparsers(dest="word", required=True)
    heats = words.add_parser("heats")
    heats.add_argument("out", type=Path)
    heats.add_argument("--seeds", type=int, nargs=2, default=(0, 10_000))
    heats.add_argument("--sound", action="store_true", help="nothing goes wrong")
    heats.add_argument("--long", action="store_true", help="heats of six hours from cold")
    heats.add_argument("--jobs", type=int, default=None)
    for word, most in (("rooms", 500), ("drills", 2000)):
        other = words.add_parser(word)
        other.add_argument("out", type=Path)
        other.add_argument("--seeds", type=int, nargs=2, default=(0, most))
        other.add_argument("--jobs", type=int, default=None)
        if word == "rooms":
            other.add_argument("--sound", action="store_true", help="nothing goes wrong")
    shown = words.add_parser("page")
    shown.add_argument("found", type=Path, nargs="+")
    shown.add_argument("--commit", required=True, help="the code that made them")
    words.add_parser("lateness")
    again = words.add_parser("replay")
    again.add_argument("seed", type=int)
    again.add_argument("--every", type=int, default=60)
    again.add_argument("--sound", action="store_true")
    asked = parser.parse_args()
    quick = compiled.use()  # before anything of a heat is loaded
    from tests.bench import campaign_words

    if asked.word in ("heats", "rooms", "drills"):
        print("compiled" if quick else "as Python: no compiled build of this source", file=sys.stderr)
    from kilnctl.errors import KilnctlError

    try:
        campaign_words.do(asked)
    except KilnctlError as e:
        sys.exit(str(e))


if __name__ == "__main__":
    sys.exit(main())
