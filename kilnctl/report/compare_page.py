"""Runs side by side as a page: what each took and held, and by how much they differ."""

from kilnctl.care.going_on import how_it_ended
from kilnctl.report.achieved import Achieved, achieved
from kilnctl.report.charts.compare_chart import draw_overlay, overlay_svg
from kilnctl.report.compare import Beside, Difference, compare
from kilnctl.report.layout.document import Block, Chart, Document, Heading, Pairs, Paragraphs, Table, Warned
from kilnctl.report.record import Record
from kilnctl.report.treatment_words import subject
from kilnctl.report.workshop import Workshop
from kilnctl.units import say_duration

WIDTHS = (4.0, 26.0, 15.0, 15.0, 14.0, 11.0, 11.0)
RIGHT = (2, 3, 4, 5, 6)
EXPLAINED = (
    "Time and temperature are those of the second run minus the first. Apart: how far the oven temperatures "
    "lie from each other on average, second by second from the start of each step. Over: how much further "
    "the second run went above its goal."
)


def compare_page(records: tuple[Record, ...], shop: Workshop) -> Document:
    """Return two or more runs beside each other; the others are compared with the first."""
    first = records[0]
    names = " and ".join(f"run {r.info.run}" for r in records)
    blocks: list[Block] = [
        Heading(f"{names.capitalize()} side by side", subject(first), shop.words, shop.mark)
    ]
    blocks += [
        Warned(f"Run {r.info.run}: {' · '.join(r.marks)}", " ".join(r.why_marked)) for r in records if r.marks
    ]
    blocks += [Pairs("The runs", tuple(_name(r) for r in records))]
    for other, found in zip(records[1:], compare(records), strict=True):
        blocks += _difference(first, other, found)
    blocks += [Paragraphs("", (EXPLAINED,), small=True)]
    shown = Chart(
        lambda axes, _: draw_overlay(records, axes), lambda: overlay_svg(records), one=True, high_pt=220.0
    )
    return Document(f"Compared: {names}", (*blocks, shown), names)


def _name(record: Record) -> tuple[str, str]:
    info = record.info
    words = (subject(record), info.oven, how_it_ended(info, record.goes_on))
    return f"run {info.run}", " · ".join(words)


def _difference(first: Record, other: Record, difference: Difference) -> list[Block]:
    ours, theirs = ({p.index: p for p in achieved(r)} for r in (first, other))
    one, two = first.info.run, other.info.run
    head = ("", "step", f"run {one}", f"run {two}", "time", "apart", "over")
    rows = tuple(_row(s, ours[s.index], theirs[s.index]) for s in difference.segments)
    whole = ("", "whole heat", *(say_duration(r.curve.duration_s) for r in (first, other)))
    rows = (*rows, (*whole, signed(difference.duration_s), "", ""))
    more = f"{difference.energy_kwh:+.2f} kWh".replace("-", "−")
    energy = more if abs(difference.energy_kwh) >= 0.005 else "same"
    sums = [("energy", energy)]
    counted = list(
        dict.fromkeys(map(signed, sorted((difference.equivalence20_s, difference.equivalence_c_s))))
    )
    sums += [("the temper counts as", " to ".join(counted))] if counted != [signed(0.0)] else []
    only = [f"Only run {one} has: {', '.join(difference.only_first)}."] if difference.only_first else []
    only += [f"Only run {two} has: {', '.join(difference.only_other)}."] if difference.only_other else []
    return [
        Table(f"Run {two} against run {one}", head, rows, WIDTHS, RIGHT),
        Pairs("Energy and temper", tuple(sums)),
        *((Paragraphs("", tuple(only)),) if only else ()),
    ]


def _row(step: Beside, ours: Achieved, theirs: Achieved) -> tuple[str, ...]:
    return (
        str(step.index + 1),
        step.label,
        say_duration(ours.ended_s - ours.started_s),
        say_duration(theirs.ended_s - theirs.started_s),
        signed(step.duration_s),
        "" if step.mean_k is None else _kelvin(step.mean_k),
        "" if step.overshoot_k is None else _kelvin(step.overshoot_k),
    )


def _kelvin(difference_k: float) -> str:
    return "same" if abs(difference_k) < 0.05 else f"{difference_k:+.1f} °C".replace("-", "−")


def signed(seconds: float) -> str:
    """Return a difference of times in words: "+1 h 04 min", "−12 s", "same"."""
    if abs(seconds) < 0.5:
        return "same"
    return f"{'+' if seconds > 0 else '−'}{say_duration(abs(seconds))}"
