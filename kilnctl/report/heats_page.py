"""The heats of a month or of a steel on one page: how they ended and what they came to."""

from collections import Counter
from collections.abc import Sequence

from kilnctl.care.going_on import NO_END, RUNNING, going_on, how_it_ended, what_is_missing
from kilnctl.clock import say_day
from kilnctl.logbook.entries import Hardness, read
from kilnctl.logbook.readers import Reader, RunInfo
from kilnctl.report.layout.document import Block, Document, Heading, Lead, Pairs, Paragraphs, Table
from kilnctl.report.time_words import spoken
from kilnctl.report.workshop import Workshop

HEAD = ("run", "day", "part", "heat", "oven", "peak", "took", "ended", "HRC")
WIDTHS = (5.0, 13.5, 21.0, 20.0, 18.5, 9.0, 12.5, 11.5, 6.0)
ENDED = {NO_END: "without an end"}


def heats_page(
    reader: Reader, runs: Sequence[RunInfo], title: str, shop: Workshop, now_utc: float | None = None
) -> Document:
    """Return runs, newest first, as a page below a title; `now_utc` as in `story_of`."""
    now = frozenset(r.run for r in runs if now_utc is not None and going_on(reader, r, now_utc))
    real = [run for run in runs if not run.simulated]
    tests = {test.run: test for test in read(reader, Hardness) if test.run is not None}
    rows = tuple(_row(run, tests.get(run.run), run.run in now) for run in reversed(runs))
    ended = Counter(how_it_ended(run, run.run in now) for run in real)
    blocks: tuple[Block, ...] = (
        Heading(title, f"{len(real)} real heats, {len(runs) - len(real)} simulated", shop.words, shop.mark),
        *((_verdict(ended),) if real else ()),
        Pairs("Total, real heats only", _sums(real)) if real else Paragraphs("", ("No real heats.",)),
        Table("Heats, in order", HEAD, rows, WIDTHS, right=(0,)),
        *_not_as_planned([run for run in real if run.run not in now]),
    )
    return Document(title, blocks, title)


def _verdict(ended: Counter[str]) -> Lead:
    count, whole = sum(ended.values()), ended["complete"]
    others = ", ".join(
        f"{n} {ENDED.get(word, word)}" for word, n in ended.most_common() if word != "complete"
    )
    said = f"{whole} of {count} heats ran to the end" + (f"; {others}." if others else ".")
    return Lead(said, whole + ended[RUNNING] == count)


def _sums(runs: Sequence[RunInfo]) -> tuple[tuple[str, str], ...]:
    per_oven = Counter(run.oven for run in runs)
    steels = Counter(run.steel for run in runs if run.steel)
    hours = sum(run.duration_s or 0.0 for run in runs)
    energy = sum(run.energy_kwh or 0.0 for run in runs)
    return (
        ("time running", spoken(hours)),
        ("energy", f"{energy:.1f} kWh (on-time × rated power)"),
        ("ovens", ", ".join(f"{name} {n}" for name, n in per_oven.most_common())),
        ("steels", ", ".join(f"{name} {n}" for name, n in steels.most_common()) or "none named"),
    )


def _row(run: RunInfo, test: Hardness | None, goes_on: bool) -> tuple[str, ...]:
    ended = how_it_ended(run, goes_on)
    missing = what_is_missing(run, goes_on) if run.outcome else ""
    return (
        str(run.run),
        say_day(run.started_utc),
        run.part,
        " ".join(word for word in (run.profile_name, run.steel) if word),
        run.oven + (" (simulated)" if run.simulated else ""),
        "" if run.peak_c is None else f"{run.peak_c:.0f} °C",
        "" if run.duration_s is None else spoken(run.duration_s),
        f"{ended}, {missing}" if missing else ended,
        "" if test is None or test.low_hrc is None else _hrc(test.low_hrc, test.high_hrc),
    )


def _hrc(low: float, high: float | None) -> str:
    return f"{low:.0f}" if high is None or round(high) == round(low) else f"{low:.0f}–{high:.0f}"


def _not_as_planned(runs: Sequence[RunInfo]) -> tuple[Block, ...]:
    found = [run for run in reversed(runs) if run.outcome != "complete"]
    if not found:
        return ()
    rows = tuple((f"run {r.run}, {r.oven}", r.cause or "no end was recorded") for r in found)
    return (Pairs("Not as planned", rows),)
