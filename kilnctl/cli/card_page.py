"""A steel card to be read at the bench: every number with its source."""

from rich.console import Console
from rich.table import Table

from kilnctl.treatment.claims import PLAIN_SOURCES, BandC, Claim
from kilnctl.treatment.steels import Anneal, Cold, Steel, Step, TemperRule
from kilnctl.units import f_from_c, say_duration

WIDTH = 80


def print_cards(cards: list[Steel]) -> None:
    """Print the list of cards."""
    table = Table("grade", "kind", "% C", "use", width=WIDTH, pad_edge=False)
    for card in cards:
        table.add_row(card.grade, card.kind, f"{card.carbon:.2f}", card.use)
    Console(width=WIDTH, highlight=False).print(table)


def print_card(card: Steel, console: Console | None = None) -> None:
    """Print one card."""
    out = console or Console(width=WIDTH, highlight=False)
    marks = _marks(card)
    also = f" ({', '.join(card.also_called)})" if card.also_called else ""
    out.print(f"{card.grade}{also}: {card.kind}. {card.use}", markup=False)
    table = Table(width=WIDTH, pad_edge=False, padding=(0, 1, 0, 0), show_header=False)
    table.add_column("what", width=12)
    table.add_column("value")
    table.add_column("source", width=4, justify="right")
    for what, value, claim in _lines(card):
        table.add_row(what, value + (f"  [{claim.note}]" if claim.note else ""), marks[claim.source])
    out.print(table, markup=False)
    for ladder in card.temper_table:
        out.print(f"Temper against HRC ({marks[ladder.source]}) {ladder.condition}", markup=False)
        steps = (f"{_point(row.at_c)}: {_span(*row.hrc)}" for row in ladder.row)
        out.print("  " + "   ".join(steps), markup=False)
    for name, mark in marks.items():
        out.print(f"({mark}) {card.sources.get(name) or PLAIN_SOURCES[name]}", markup=False)
    out.print("Every hardness is good to ± 2 HRC at best; temper a coupon first.")


def _marks(card: Steel) -> dict[str, str]:
    used = dict.fromkeys(claim.source for _, claim in card.claims())
    letters = {"from memory": "mem", "common practice": "cp", "computed": "calc"}
    numbers = iter(range(1, 100))
    return {source: letters.get(source) or str(next(numbers)) for source in used}


def _span(low: float, high: float) -> str:
    return f"{low:g}" if low == high else f"{low:g}-{high:g}"


def _point(c: float) -> str:
    return f"{c:.0f} °C/{f_from_c(c):.0f} °F"


def _band(band: BandC) -> str:
    if band.low_c == band.high_c:
        return f"{band.low_c:.0f} °C ({f_from_c(band.low_c):.0f} °F)"
    return (
        f"{band.low_c:.0f}-{band.high_c:.0f} °C ({f_from_c(band.low_c):.0f}-{f_from_c(band.high_c):.0f} °F)"
    )


def _lines(card: Steel) -> list[tuple[str, str, Claim]]:
    lines: list[tuple[str, str, Claim]] = []
    for name, e in card.composition.items():
        limits = f" ({e.low or 0:g}-{e.high:g})" if e.high is not None else ""
        lines.append((f"% {name}", f"{e.typical:g}{limits}", e))
    lines += [(p.point, _band(p), p) for p in card.points]
    if card.do_not_normalise:
        lines.append(("normalise", "do not", card.do_not_normalise))
    lines += [("normalise", _step(s), s) for s in card.normalise]
    lines += [(f"anneal {a.type}"[:12], _anneal(a), a) for a in card.anneal]
    lines += [("preheat", _step(s), s) for s in card.preheat]
    lines += [("austenitise", _step(s), s) for s in card.austenitise]
    lines += [("too hot", f"above {b.low_c:.0f} °C", b) for b in card.too_hot]
    for q in card.quench:
        up_to = f" up to {q.up_to_mm:g} mm" if q.up_to_mm else ""
        hrc = f", then {_span(*q.as_quenched_hrc)} HRC" if q.as_quenched_hrc else ""
        lines.append(("quench", f"{q.medium}{up_to}{hrc}", q))
    lines += [("temper", _temper(t), t) for t in card.temper]
    lines += [("avoid", _band(b), b) for b in card.spoils]
    lines += [("cold", _cold(c), c) for c in card.cold]
    return lines + [("caution", c.say, c) for c in card.caution]


def _step(step: Step) -> str:
    if step.soak_low_s is None:
        return _band(step)
    low, high = step.soak_low_s, step.soak_high_s or step.soak_low_s
    times = say_duration(low) if low == high else f"{say_duration(low)} to {say_duration(high)}"
    return f"{_band(step)}, {times} at heat"


def _anneal(a: Anneal) -> str:
    text = _step(a)
    if a.quick_to_c is not None:
        text += f", fast to {a.quick_to_c:.0f}"
    if a.rate_c_per_h is not None:
        text += f", then at most {a.rate_c_per_h:.0f} °C/h"
    if a.down_to_c is not None:
        text += f" to {a.down_to_c:.0f}"
    return text + (f", hold {say_duration(a.hold_s)}" if a.hold_s else "")


def _temper(t: TemperRule) -> str:
    return f"{_span(t.count_low, t.count_high)} x {say_duration(t.time_s)}"


def _cold(c: Cold) -> str:
    return f"{_band(c)}{f', {say_duration(c.time_s)}' if c.time_s else ''}, {c.when}"
