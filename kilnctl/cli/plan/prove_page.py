"""What `prove` found, as a page: what was tried, what happened, what software could not catch."""

from kilnctl.rehearsal.campaign import summary
from kilnctl.rehearsal.hazards import HazardSeen, summary_of
from kilnctl.rehearsal.judge import Verdict
from kilnctl.rehearsal.lateness import ALLOWED
from kilnctl.report.layout.document import Block, Document, Heading, Lead, Pairs, Paragraphs, Table
from kilnctl.report.workshop import Workshop
from simulator.boards.faults import FAULTS

HEAD = ("what went wrong", "heats", "cut", "cut by", "after", "at worst")
WIDTHS = (44.0, 7.0, 6.0, 25.0, 8.0, 10.0)
HOW = (
    "Faulted heats in virtual time on simulated ovens near yours (invented), judged against what really "
    "happened in the simulator. Times run from the beginning of the fault to the heat being off."
)
ON = "on simulated ovens; nothing real was heated"
UNSEEN, UNHARMED, AMISS = "software cannot see it", "no cut needed", "see above"
NOT_PROVEN = 'A simulation proves nothing about your wiring: the drills of "kilnctl commission" do.'


def prove_page(job: str, verdicts: list[Verdict], asked: int, shop: Workshop) -> Document:
    """Return what became of a job's faulted heats; fewer than were asked where a person has stopped it."""
    found = [
        summary_of(verdicts, key)
        for key in sorted({key for v in verdicts if len(v.rows) == 1 for key in v.rows})
    ]
    blind = [s for s in found if s.stands_in and (s.blind or s.fault not in ALLOWED)]
    failed = tuple((f"seed {v.seed}: {', '.join(v.faults)}", complaint(v)) for v in verdicts if v.failed)
    uncut = {s.fault: UNSEEN for s in blind}
    # A miss last: another heat of the same fault may have been one that nobody could see.
    uncut |= {v.rows[0]: UNSEEN for v in verdicts if v.untrue and len(v.rows) == 1}
    uncut |= {key: AMISS for v in verdicts if v.failed for key in v.rows}
    rows = tuple(_row(s, uncut.get(s.fault, UNHARMED)) for s in found)
    blocks: tuple[Block, ...] = (
        Heading(f"Faults tried on {job}", ON, shop.words, shop.mark),
        Lead(_verdict(verdicts, asked), not failed),
        *((Pairs("What went wrong", failed),) if failed else ()),
        Paragraphs("How", (HOW,)),
        Table("What was tried, and what happened", HEAD, rows, WIDTHS, (1, 2, 4, 5)),
        Pairs(
            "What software could not catch",
            tuple((in_words(s.fault), f"guarded by: {s.stands_in}") for s in blind)
            or (("", "nothing here"),),
        ),
        Paragraphs("", (*_paired(verdicts), *_by_luck(verdicts), *_untrue(verdicts), NOT_PROVEN)),
    )
    return Document(f"Faults tried on {job}", blocks, job)


def in_words(key: str) -> str:
    """Return what a fault is, with its value and the name that `--fault` takes."""
    name, _, value = key.partition(":")
    kind = FAULTS.get(name)
    if kind is None:
        return f"{name} ({key})"
    usual = "" if kind.usual is None else f"{kind.usual:g}"
    return f"{kind.what.removesuffix(' (an instant)').replace('VALUE', value or usual)} ({key})"


def complaint(v: Verdict) -> str:
    """Say what went wrong in one heat."""
    late = f"late: {v.late}" if v.late else ""
    other = f"cut for another cause: {v.cause}" if v.other_cause else ""
    false = f"false trip, {v.false_trip}" if v.false_trip else ""
    return "; ".join(said for said in (v.unsafe, v.wrong, late, other, false) if said)


def _verdict(verdicts: list[Verdict], asked: int) -> str:
    found, done = summary(verdicts), len(verdicts)
    some = "1 heat" if done == 1 else f"{done} heats"
    heats = some if done == asked else f"{done} of {asked} heats, then stopped by a person"
    if not done:
        return f"{heats}: nothing was tried, so nothing is known."
    lucky = _lucky(verdicts)
    by_luck = f", {lucky} cut by luck" if lucky else ""
    head = f"{heats}: {found['cut'] - lucky} cut{by_luck}, {done - found['cut']} not cut"
    bad = {
        "unsafe": found["unsafe"],
        "called complete and were not": found["wrong_complete"],
        "cut for another cause": found["wrong_cause"],
        "cut late": found["late"],
        "cut without cause": found["false_trips"],
    }
    said = ", ".join(f"{count} {name}" for name, count in bad.items() if count)
    return f"{head}; {said}." if said else f"{head}; nothing that software can catch was missed."


def _paired(verdicts: list[Verdict]) -> tuple[str, ...]:
    count = sum(len(v.rows) > 1 for v in verdicts)
    heats = "1 heat" if count == 1 else f"{count} heats"
    return (f"{heats} with two faults at once: counted above, not in the table.",) if count else ()


def _lucky(verdicts: list[Verdict]) -> int:
    """Return how many heats were cut although software cannot count on seeing their fault."""
    alone = [v for v in verdicts if len(v.rows) == 1 and v.rows[0] in ALLOWED and not v.false_trip]
    return sum(v.found_s is not None and not v.noticeable for v in alone)


def _by_luck(verdicts: list[Verdict]) -> tuple[str, ...]:
    count = _lucky(verdicts)
    if not count:
        return ()
    heats = "1 heat was" if count == 1 else f"{count} heats were"
    return (f"{heats} cut by luck: software cannot count on it, so the table does not count it as cut.",)


def _untrue(verdicts: list[Verdict]) -> tuple[str, ...]:
    count = summary(verdicts)["untrue_not_detectable"]
    if not count:
        return ()
    heats = "1 heat called itself" if count == 1 else f"{count} heats called themselves"
    of = "; ".join(sorted({in_words(key) for v in verdicts if v.untrue for key in v.rows}))
    return (f"{heats} complete on a reading that was wrong ({of}): no software can see that on this oven.",)


def _row(s: HazardSeen, uncut: str) -> tuple[str, ...]:
    """Return a fault's row; where no heat was cut, `uncut` says why: a dash would not tell harm from none."""
    return (
        in_words(s.fault),
        str(s.heats),
        str(s.cut),
        s.by or uncut,
        "–" if s.median_s is None else f"{s.median_s:.0f} s",
        "–" if s.worst_s is None else f"{s.worst_s:.0f} s",
    )
