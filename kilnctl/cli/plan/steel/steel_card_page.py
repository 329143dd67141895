"""A steel card to be read at the bench: every number with its source."""

from rich.table import Table

from kilnctl.cli.terminal.tell import WIDTH
from kilnctl.report.layout.text_page import PageConsole
from kilnctl.treatment.steel.formulas import (
    ROOM_C,
    after_quench,
    andrews_ac1_c,
    andrews_ac3_c,
    andrews_holds,
    andrews_ms_c,
    composition,
)
from kilnctl.treatment.steel.sourced_values import PLAIN_SOURCES, BandC, Claim
from kilnctl.treatment.steel.steels import (
    Annealed,
    Cold,
    SourcedAnneal,
    SourcedForge,
    SourcedHeat,
    Steel,
    TemperRule,
)
from kilnctl.treatment.steel.temper.temper_floor import cold_mark
from kilnctl.treatment.steel.temper.temper_soon import temper_soon
from kilnctl.units import f_from_c, say_duration, say_point, say_rate

CAUTION = "Every hardness is good to ± 2 HRC at best; temper a coupon first."


def print_cards(cards: list[Steel]) -> None:
    """Print the list of cards."""
    table = Table("grade", "kind", "% C", "use", width=WIDTH, pad_edge=False)
    for card in cards:
        table.add_row(card.grade, card.kind, f"{card.carbon:.2f}", card.use)
    PageConsole(WIDTH).print(table)


def print_card(card: Steel) -> None:
    """Print one card."""
    out = PageConsole(WIDTH)
    marks = source_marks(card)
    also = f" ({', '.join(card.also_called)})" if card.also_called else ""
    out.print(f"{card.grade}{also}: {card.kind}; {card.use}")
    table = Table(width=WIDTH, pad_edge=False, padding=(0, 1, 0, 0), show_header=False)
    table.add_column("what", width=13)
    table.add_column("value")
    table.add_column("source", width=4, justify="right")
    for what, value, claim in card_rows(card):
        table.add_row(what, said_of(value, claim), marks[claim.source])
    out.print(table)
    for ladder in card.temper_table:
        out.print(f"Temper against HRC ({marks[ladder.source]}): {ladder.condition}")
        steps = [f"{temper_point(row.at_c)}: {span(*row.hrc)}{cold_mark(row.at_c)}" for row in ladder.row]
        out.print(_filled(steps))
    for line in computed_lines(card):
        out.print(line)
    for name, mark in marks.items():
        out.print(f"({mark}) {card.sources.get(name) or PLAIN_SOURCES[name]}")
    for line in last_lines(card):
        out.print(line)


def last_lines(card: Steel) -> tuple[str, ...]:
    """Return what holds for every steel that is hardened, to be read last."""
    soon = temper_soon(card)
    return (f"{soon[0].upper()}{soon[1:]}.", CAUTION) if card.quench else (CAUTION,)


def computed_lines(card: Steel) -> list[str]:
    """Return what the formulas say, only where they hold."""
    lines = []
    if andrews_holds(card):
        percent = composition(card)
        points = (("Ac1", andrews_ac1_c), ("Ac3", andrews_ac3_c), ("Ms", andrews_ms_c))
        values = ", ".join(f"{name} {formula(percent):.0f} °C" for name, formula in points)
        lines.append(f"Computed: {values} (Andrews 1965, all carbon dissolved; to about 0.6 % C)")
    found = [(row.at_c, after_quench(card, row.at_c)) for row in card.dissolved]
    steps = [
        f"quenched from {at_c:.0f} °C: {q.carbon:.2f} % C dissolved, Ms {q.ms_c:.0f} °C, "
        f"{100 * q.retained:.0f} % retained austenite"
        for at_c, q in found
        if q
    ]
    if steps:
        how = f"Computed (van Bohemen, ± 20 K; Koistinen-Marburger to {ROOM_C:.0f} °C):"
        lines.append("\n".join([how, *steps]))
    return lines


def _filled(items: list[str]) -> str:
    """Return items side by side, broken between items only."""
    lines = [""]
    for item in items:
        joined = f"{lines[-1]}   {item}".lstrip()
        if len(joined) > WIDTH:
            lines.append(item)
        else:
            lines[-1] = joined
    return "\n".join(lines)


def source_marks(card: Steel) -> dict[str, str]:
    """Return a short mark for each source that the card uses."""
    used = dict.fromkeys(claim.source for _, claim in card.claims())
    letters = {"from memory": "mem", "common practice": "cp", "computed": "calc"}
    numbers = iter(range(1, 100))
    return {source: letters.get(source) or str(next(numbers)) for source in used}


def span(low: float, high: float) -> str:
    """Return a range of hardness, one number where both ends are the same."""
    return f"{low:g}" if low == high else f"{low:g}-{high:g}"


def temper_point(c: float) -> str:
    """Return the temperature of a temper, short: "205 °C/401 °F"."""
    return f"{c:.0f} °C/{f_from_c(c):.0f} °F"


def _band(band: BandC) -> str:
    low_f, high_f = f_from_c(band.low_c), f_from_c(band.high_c)
    if band.low_c == band.high_c:
        return f"{band.low_c:.0f} °C ({low_f:.0f} °F)"
    to = " to " if band.low_c < 0 else "-"
    return f"{band.low_c:.0f}{to}{band.high_c:.0f} °C ({low_f:.0f}{to}{high_f:.0f} °F)"


def _time(seconds: float) -> str:
    return say_duration(seconds).removesuffix(" 00 min")


def said_of(value: str, claim: Claim) -> str:
    """Return a value with the note that its source has on it."""
    return value + (f"  [{claim.note}]" if claim.note else "")


def card_rows(card: Steel) -> list[tuple[str, str, Claim]]:
    """Return every line of the card but its temper tables: what, value, and who says so."""
    lines: list[tuple[str, str, Claim]] = []
    for name, e in card.composition.items():
        limits = f" ({e.low or 0:g}-{e.high:g})" if e.high is not None else ""
        lines.append((f"% {name}", f"{e.typical:g}{limits}", e))
    lines += [(p.point, _band(p), p) for p in card.points]
    lines += [("forge", _forge(s), s) for s in card.forge]
    if card.do_not_normalise:
        lines.append(("normalise", "do not", card.do_not_normalise))
    lines += [("normalise", f"{_step(s)}, then still air", s) for s in card.normalise]
    lines += [("anneal", f"{a.type}: {_anneal(a)}", a) for a in card.anneal]
    lines += [("annealed", _annealed(b), b) for b in card.annealed_hbw]
    lines += [("stress relief", _step(s), s) for s in card.stress_relief]
    lines += [("preheat", _step(s), s) for s in card.preheat]
    lines += [("austenitise", _step(s), s) for s in card.austenitise]
    lines += [("too hot", f"above {b.low_c:.0f} °C", b) for b in card.too_hot]
    for q in card.quench:
        up_to = f" up to {q.up_to_mm:g} mm" if q.up_to_mm else ""
        hrc = f", then {span(*q.as_quenched_hrc)} HRC" if q.as_quenched_hrc else ""
        lines.append(("quench", f"{q.medium}{up_to}{hrc}", q))
    lines += [("temper", _temper(t), t) for t in card.temper]
    lines += [("avoid", _band(b), b) for b in card.spoils]
    lines += [("cold", _cold(c), c) for c in card.cold]
    lines += [("grows", f"{g.low_percent:+g} to {g.high_percent:+g} % in length", g) for g in card.growth]
    return lines + [("caution", c.say, c) for c in card.caution]


def _annealed(b: Annealed) -> str:
    return f"{b.high_hbw:g} HBW at most" if b.low_hbw is None else f"{span(b.low_hbw, b.high_hbw)} HBW"


def _forge(heat: SourcedForge) -> str:
    stop = "" if heat.stop_c is None else f", not below {say_point(heat.stop_c)}"
    return f"from {_band(heat)}{stop}"


def _step(step: SourcedHeat) -> str:
    if step.soak_low_s is None:
        return _band(step)
    low, high = step.soak_low_s, step.soak_high_s or step.soak_low_s
    times = _time(low) if low == high else f"{_time(low)} to {_time(high)}"
    return f"{_band(step)}, {times} at heat"


def _anneal(a: SourcedAnneal) -> str:
    text = _step(a)
    if a.quick_to_c is not None:
        text += f", fast to {say_point(a.quick_to_c)}"
    if a.rate_c_per_h is not None:
        text += f", then at most {say_rate(a.rate_c_per_h)}"
    if a.down_to_c is not None:
        text += f" to {say_point(a.down_to_c)}"
    return text + (f", hold {_time(a.hold_s)}" if a.hold_s else "")


def _temper(t: TemperRule) -> str:
    return f"{span(t.count_low, t.count_high)} x {_time(t.time_s)}"


def _cold(c: Cold) -> str:
    return f"{_band(c)}{f', {_time(c.time_s)}' if c.time_s else ''}, {c.when}"
