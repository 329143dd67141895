"""The command that learns how an oven heats: tune."""

import sys
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np

from kilnctl.care.oven_knowledge import known_of, say
from kilnctl.cli.heat import off_seen
from kilnctl.cli.heat.acknowledgement import caution, consented
from kilnctl.cli.heat.follow_job import CONNECT_S, ctrl_c_is_off, follow, refuse_second, start_for
from kilnctl.cli.heat.hand_over import begin
from kilnctl.cli.heat.simulated_pace import pace_of
from kilnctl.cli.plan.plan_timing import known_oven, learned_model
from kilnctl.cli.terminal.options import Flag, refuse_unused
from kilnctl.cli.terminal.progress import at_work
from kilnctl.cli.terminal.select import choose_oven
from kilnctl.cli.watch.read_back_since import ReadBackSince
from kilnctl.clock import RealClock
from kilnctl.config import home
from kilnctl.config.oven import Oven
from kilnctl.errors import RunRefused
from kilnctl.heat.job import Job
from kilnctl.heat.tune_run import tune_profile
from kilnctl.interlocks import not_checked
from kilnctl.interlocks.thresholds import Thresholds
from kilnctl.learning.identification import (
    Identified,
    describe,
    describe_cooling,
    learn_cooling,
    learn_from,
)
from kilnctl.link.client import LinkClient
from kilnctl.logbook.entries import LearnedOven, OvenChange, add, newest
from kilnctl.logbook.readers import Reader
from kilnctl.logbook.writer import Logbook
from kilnctl.model.oven_model import OvenModel
from kilnctl.permits.fingerprint import fingerprint
from kilnctl.permits.preflight import preflight
from kilnctl.processes.spawn import ensure_controller
from kilnctl.units import say_point

# Between these percentiles lies what counts as seen of a second sensor.
_SEEN = (0.5, 99.5)
# What a record may lack and still teach: single readings, no pause in them and few of them.
_GAP_TICKS, _LONGEST_GAP_S, _MOST_MISSING = 1.5, 10.0, 0.05
LET_IT_COOL = (
    "not known yet: how long it cools (a brick furnace took 1.75 times what its heat-up predicted). Leave it",
    "shut, begin kilnctl run --record-only now, stop it when it is hand-warm; then tune OVEN --cooling RUN",
)
# A cooling is recorded soon after the learning heat, down to this share of its rise.
_LONGEST_BETWEEN_S, _COOLED = 1800.0, 0.3


def tune(
    oven: str | None = None,
    /,
    *,
    from_run: int | None = None,
    cooling: int | None = None,
    changed: Flag = False,
    yes: Flag = False,
    time_scale: float | None = None,
) -> int:
    """Learn how an oven heats from one heat-up with pauses, empty and cold, below the file's tune_ceiling.

    Take everything out, shut the door and leave it shut. The oven must be as cold as the room, and the room
    within 15 K of the file's `ambient`. Choose tune_ceiling as high as you will use the oven, or a little
    above, and at least 10 K below its limit: what lies above it is only predicted. A small oven takes about
    an hour, a brick furnace two or three.

    Parameters
    ----------
    oven
        An oven file or name.
    from_run
        Fit a learning heat-up that has been recorded already; nothing is heated.
    cooling
        Learn how the oven cools from this run: `kilnctl run --record-only` begun within half an hour after
        the learning heat, and left until the oven was hand-warm. Plans go by it; control does not.
    changed
        Take what later heats found changed (sensor lag, heater power) as learned, for the interlocks too;
        nothing is heated.
    yes
        Store without asking.
    time_scale
        Seconds of the heat in one real second; simulated ovens only. Left out, the simulator's own speed.
    """
    if changed or from_run is not None or cooling is not None:
        refuse_unused("nothing is heated", time_scale=time_scale)
    if changed:
        refuse_unused(
            "what later heats found changed is taken from the logbook", from_run=from_run, cooling=cooling
        )
    if cooling is not None:
        refuse_unused("a cooling is added to what is learned already", from_run=from_run)
    path, chosen = choose_oven(oven, option="")
    if changed:
        return _take_change(chosen, yes)
    if cooling is not None:
        return _take_cooling(chosen, cooling, yes)
    run = from_run
    if run is None:
        code, run = _heat_up(path, chosen, time_scale)
        if code != 0:
            print("nothing was learned and nothing is stored")
            return code
    process_c, heat, dt_s = recorded(run, chosen)
    print("fitting; this takes up to a few minutes")
    with at_work("looking for the oven's numbers"):
        found = learn_from(chosen, process_c, heat, dt_s)
    found = replace(found, model=replace(found.model, second_gap_k=second_gap_k(_columns(run, chosen))))
    print("\n".join([*describe(chosen, found), *LET_IT_COOL]))
    return _keep(chosen, found, run, yes)


def _heat_up(path: Path, oven: Oven, scale: float | None) -> tuple[int, int]:
    stamps = off_seen.stamps()
    todo = Job(tune_profile(oven), not_checked=not_checked(oven, learned_model(oven) is not None))
    refuse_second(oven.name)
    time_scale = pace_of(oven, scale)
    preflight(oven, todo, time_scale)
    text = path.read_text(encoding="utf-8")
    caution(oven, todo.not_checked, print)
    ensure_controller()
    with LinkClient(home.socket_path()) as client:
        start = start_for(text, path.name, todo, time_scale, stamps)
        start = consented(client, oven, start, CONNECT_S, print)
        with ctrl_c_is_off(oven.name, text, print):
            run = int(begin(client, oven.name, start, CONNECT_S).data["run"])
            return follow(client, oven.name, run, print, False, ReadBackSince()), run


def recorded(run: int, oven: Oven) -> tuple[list[float], list[float], float]:
    """Return readings, heat until the next reading, and the spacing in s. Raises RunRefused."""
    columns = _columns(run, oven)
    if not oven.simulated:
        # A simulated oven in quick motion loses ticks where the machine is slow; nothing is at stake there.
        refuse_gaps(columns, oven.tick_s)
    return evenly(columns, oven.tick_s)


def _columns(run: int, oven: Oven) -> dict[str, Any]:
    with Reader(home.logbook_path()) as reader:
        if reader.run(run).oven != oven.name:
            raise RunRefused(f'run {run} is not a heat of "{oven.name}"')
        return reader.curve(run).columns()


def second_gap_k(columns: dict[str, Any]) -> tuple[float, float] | None:
    """Return the lowest and highest gap of a second sensor to the first, but for one reading in a hundred.

    None where none is wired, or it was lost for most of the heat.
    """
    gaps_k = columns["second_c"] - columns["process_c"]
    seen_k = gaps_k[np.isfinite(gaps_k)]
    if len(seen_k) < len(gaps_k) / 2 or not len(seen_k):
        return None
    low_k, high_k = np.percentile(seen_k, _SEEN).tolist()
    return round(low_k, 2), round(high_k, 2)


def refuse_gaps(columns: dict[str, Any], dt_s: float) -> None:
    """Refuse a record in which readings are missing: it teaches another oven. Raises RunRefused."""
    at_s = columns["elapsed_s"][np.isfinite(columns["process_c"])]
    if len(at_s) < 2:
        return
    steps_s = np.diff(at_s)
    gaps = int((steps_s > _GAP_TICKS * dt_s).sum())
    missing = 1.0 - len(at_s) * dt_s / (at_s[-1] - at_s[0] + dt_s)
    if steps_s.max() > _LONGEST_GAP_S or missing > _MOST_MISSING:
        raise RunRefused(
            f"that run has {gaps} gaps, the longest {steps_s.max():.0f} s, and lacks {missing:.0%} of its "
            "readings: find out why readings were lost, let the oven cool and run tune again"
        )


def evenly(columns: dict[str, Any], dt_s: float) -> tuple[list[float], list[float], float]:
    """Return a record on an even grid. A sample's heat_on was read back before it: it fills the gap before.

    Raises RunRefused for a record without readings.
    """
    at_s, process_c = columns["elapsed_s"], columns["process_c"]
    good = np.isfinite(process_c)
    if good.sum() < 100:
        raise RunRefused("that run has too few good readings to learn from")
    heat = np.nan_to_num(columns["heat_on"], nan=0.0)
    grid = np.arange(at_s[good][0], at_s[good][-1], dt_s)
    following = np.minimum(np.searchsorted(at_s, grid, side="right"), len(at_s) - 1)
    return np.interp(grid, at_s[good], process_c[good]).tolist(), heat[following].tolist(), dt_s


def _keep(oven: Oven, result: Identified, run: int, yes: bool) -> int:
    later = f"kilnctl tune {oven.name} --from-run {run} --yes"
    return _store(
        LearnedOven(
            oven.name,
            result.model.to_dict(),
            run,
            f"fit {result.model.residual_k:.2f} K rms",
            fingerprint("learn", oven),
        ),
        later,
        yes,
    )


def _take_change(oven: Oven, yes: bool) -> int:
    """Offer what heats found changed as the learned oven, with the interlocks' limits before and after."""
    known = known_oven(oven)
    if known is None or known.change is None:
        print(f"nothing is known to have changed on {oven.name} since it was learned")
        return 0
    model, what = known.likely_model, say(known.change)
    print(
        f"run {known.change.run} found: {what}. The next heat allows for it already; the interlocks do not."
    )
    print("If it was a fault that has since been repaired, answer no: the next heat forgets it by itself.")
    before, after = (Thresholds.of(oven, m).shown() for m in (known.model, model))
    for old, new in zip(before, after, strict=True):
        print(f"  {new}" if old == new else f"  {new}  (until now: {old})")
    note = f"as learned before, with {what}"
    entry = LearnedOven(oven.name, model.to_dict(), known.change.run, note, fingerprint("learn", oven))
    return _store(entry, f"kilnctl tune {oven.name} --changed --yes", yes)


def _take_cooling(oven: Oven, run: int, yes: bool) -> int:
    """Fit the heat-up that the oven was learned from together with the cooling recorded after it."""
    with Reader(home.logbook_path()) as reader:
        learned, known = newest(reader, LearnedOven, oven.name), known_of(reader, oven)
    if learned is None or known is None or learned[1].run is None:
        raise RunRefused(f"{oven.name} has not been learned: run tune, then let it cool under --record-only")
    entry = learned[1]
    process_c, heat, dt_s = with_cooling(oven, learned[1].run, run)
    print("fitting; this takes up to a few minutes")
    with at_work("looking for the wall's numbers"):
        model = learn_cooling(oven, OvenModel.from_dict(entry.model), process_c, heat, dt_s)
    print("\n".join(describe_cooling(oven, model)))
    later = f"kilnctl tune {oven.name} --cooling {run} --yes"
    note = f"{entry.note}; cooling of run {run}"
    return _store(replace(entry, model=model.to_dict(), note=note), later, yes, known.change)


def with_cooling(oven: Oven, heated: int, cooled: int) -> tuple[list[float], list[float], float]:
    """Return the learning heat and the cooling recorded after it as one record. Raises RunRefused."""
    with Reader(home.logbook_path()) as reader:
        first, second = reader.run(heated), reader.run(cooled)
        if {first.oven, second.oven} != {oven.name}:
            raise RunRefused(f'runs {heated} and {cooled} are not both of "{oven.name}"')
        scale = reader.header(heated).time_scale if oven.simulated else 1.0
    one, other = _columns(heated, oven), _columns(cooled, oven)
    process_c, heat, dt_s = evenly(one, oven.tick_s)
    later_c, later_heat, _ = evenly(other, oven.tick_s)
    begins_s = (second.started_utc - first.started_utc) * scale + float(other["elapsed_s"][0])
    between = round((begins_s - float(one["elapsed_s"][-1])) / dt_s)
    if not 0 <= between * dt_s <= _LONGEST_BETWEEN_S:
        raise RunRefused(
            f"run {cooled} did not begin within half an hour after run {heated}, from which the oven was "
            "learned: what happened between is not known"
        )
    if any(later_heat) or later_c[-1] > process_c[0] + _COOLED * (max(process_c) - process_c[0]):
        raise RunRefused(
            f"run {cooled} was heated, or ends at {say_point(later_c[-1])}: let it cool with the heat off "
            "until it is hand-warm"
        )
    filled_c = np.linspace(process_c[-1], later_c[0], between + 2)[1:-1].tolist()
    return [*process_c, *filled_c, *later_c], [*heat, *[0.0] * between, *later_heat], dt_s


def _store(entry: LearnedOven, later: str, yes: bool, still: OvenChange | None = None) -> int:
    """Offer an entry, and store it; `still` is a change that holds of its model as of the one before."""
    question = "Store this as what is known of the oven? [yes/no] "
    if not yes and (not sys.stdin.isatty() or input(question).strip() != "yes"):
        print(f"not stored; to store it later: {later}")
        return 0
    with Logbook(home.logbook_path()) as book:
        now_s = RealClock().utc().timestamp()
        number = add(book, entry, now_s, run=entry.run)
        if still is not None:
            add(book, replace(still, learned=number), now_s)
    print("stored, dated; the next run uses it")
    return 0
