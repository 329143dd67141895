"""What a person must do now, by when, and what comes next; the most urgent first."""

from textual.content import Content

from kilnctl.dashboard import formatting as words
from kilnctl.dashboard.drawing.text_layout import Part, lines, plate, sentence, text
from kilnctl.dashboard.panels.heat_panel import alarm_mark, alarm_style
from kilnctl.dashboard.view_state import View, cut_short, unanswered
from kilnctl.link.snapshot import AlarmView, Snapshot
from kilnctl.link.trip_head import trip_head
from kilnctl.stages import HOT_C, LIVE, in_words

LONG = 1000  # columns: as wide as no terminal
NOT_YET_OLD = "wait for new data; if none comes, go and look at the oven."
OUT_OF_DATE = "go and look at the oven itself; all that is shown here is out of date."
REMEDIES = "kilnctl guide when-it-went-wrong"
OFF = ("off by ", "off was asked")  # how the cause of a heat begins that somebody's off ended, as it was seen
ANSWER = "Answer done"  # a plan's words for every way to answer; on this screen it is a key


def now(v: View, width: int) -> Content:
    """Return the one thing that a person must do now, with its deadline; then what comes next."""
    rows = _calls(v, width) or [_quiet(v)]
    if not v.s.trip and len(rows) == 1 and (alarms := unanswered(v.s)) and alarms[0].gone:
        rows.append(_quiet(v))  # an alarm that is over asks for a key, the oven for what it always does
    if not (v.s.trip or v.banner):
        rows.append(_next(v))
    return lines(rows)


def answer(v: View, width: int) -> Content:
    """Return the answer to the last key, in a frame of blanks over what it covers for a while."""
    return text((f" {v.answer} ", "bold reverse $strong")) if v.answer else Content("")


def calm(v: View) -> bool:
    """Return whether nothing calls for a person."""
    return not (_calls(v, LONG) or v.elsewhere is not None)


def _calls(v: View, width: int) -> list[Content]:
    """Return what calls for a person: a trip alone, else the step or the coming quench, and an alarm."""
    s, alarms = v.s, unanswered(v.s)
    if s.trip:
        return _trip(v, width)
    rows = []
    if v.banner:
        pass  # nobody may act on an old call
    elif s.waiting is not None:
        rows.append(_step(v))
    elif words.stage(s):
        rows.append(_early(v))
    if alarms:
        rows.append(_alarm_call(v, alarms[0]))
    elif not rows and (what := _abnormal(v)):
        style = "urgent" if v.banner and v.cut.failed else "soon"
        rows.append(text(("You: ", "$soft"), (what, f"bold ${style}")))
    return rows


def _trip(v: View, width: int) -> list[Content]:
    """Return what to do, in a row of its own; then why, then the caution."""
    head, mark = trip_head(v.s, v.stale, v.cut.proves_off(v.s)), "X" if v.plain else "✖"
    if v.over and head.level == "off":  # cold, and the controller has left it
        way = "reset the latch at the oven's own screen" if v.read_only else "r resets the latch"
        at = words.clock_time(v.s.utc)
        return [
            plate(f"{mark} {head.action} Cold at {at}.", width, "bold reverse $later"),
            text((sentence(head.cause), "bold $later")),
            text(("You: ", "$soft"), (f"find and mend the cause, then {way}.", "bold $strong")),
        ]
    # reversed: to red-blind eyes red letters are dimmer than amber ones, and mono has no red
    return [
        plate(f"{mark} {head.action}", width, "bold reverse $urgent"),
        text((f"{sentence(head.cause)} {head.caution}", "bold $urgent")),
    ]


def _alarm_call(v: View, alarm: AlarmView) -> Content:
    gone = alarm.gone
    return text(
        (f" {alarm_mark(alarm, v.plain)} ALARM{' OVER' if gone else ''} ", _plate_of(alarm)),
        (f" {sentence(alarm.reason_now)}", "$strong" if gone else "bold $strong"),
        ("" if v.read_only else " a acknowledges it.", "$strong"),
    )


def _plate_of(alarm: AlarmView) -> str:
    """Return how an alarm's head looks: reversed in its colour while it lasts."""
    return f"bold ${alarm_style(alarm)}" if alarm.gone else f"bold reverse ${alarm_style(alarm)}"


def _early(v: View) -> Content:
    early, mark = words.stage(v.s), "*" if v.plain else "◆"
    ready = "oil, lid, tongs, gloves" if early == "T-10" else "gloves on, tongs in hand, way clear"
    return text(
        (f" {mark} QUENCH IN {words.left(words.quench_in_s(v.s)).upper()} ", "bold reverse $call"),
        (f" Have ready: {ready}.", "bold $strong"),
    )


def _abnormal(v: View) -> str:
    """Return what to do about a state that is not as planned and has no alarm of its own yet."""
    if v.banner and v.cut.failed:
        return f"cut the power now: {v.s.isolator or 'the isolator'}; then look at the oven."
    if v.banner:
        return OUT_OF_DATE
    if v.s.quality not in ("good", "") and v.s.state in LIVE and not v.s.only_watched:
        return "check the sensor and its wire: without a reading the heat is cut, then the run trips."
    if v.s.door_said:
        return f"{v.s.door_said}; nothing is heated, recording goes on."
    return "shut the door: the heat is off and the plan waits." if v.s.word == "held" else ""


def _quiet(v: View) -> Content:
    if v.stale and v.s.state in LIVE:
        return text(("You: ", "$soft"), (NOT_YET_OLD, "$strong"))
    if v.over and not v.cold:
        last = f"{v.degrees.point(v.s.process_c)} at {words.clock_time(v.s.utc)}"
        what = f"keep the door shut and stay: it was HOT ({last}), and nothing is watching it now."
        return text(("You: ", "$soft"), (what, "bold $soon"))
    if v.elsewhere is not None:
        return text(("You: ", "$soft"), elsewhere(v, v.elsewhere))
    what = "nothing to do now."
    if v.s.run and v.cold and v.s.outcome in ("", "complete") and v.s.state == "complete":
        what = "take the part out." + (
            "" if v.read_only else " Tested its hardness? n puts it in the record."
        )
    if v.s.word == "silent":
        what = f"nothing to do now; the board does not answer, and recording waits. {sentence(v.s.note)}"
    if v.s.word == "off but hot":
        what = f"keep the door shut: hot until it is below {v.degrees.point(HOT_C)}."
        if v.s.process_c is None:
            what = "keep the door shut: it is HOT, and there is no reading to say how hot."
    return text(("You: ", "$soft"), (what, "$strong"))


def elsewhere(v: View, other: Snapshot) -> Part:
    """Return what another oven calls for: where its heat is not known to be off, the hands come first."""
    if other.trip and (head := trip_head(other, v.stale, v.cut.proves_off(other))).level != "off":
        return f"{other.oven}: {head.action} o shows it.", "bold $urgent"
    return f"{other.oven} needs you: press o.", "bold $soon"


def _step(v: View) -> Content:
    s = v.s
    assert s.waiting is not None
    face, quench = words.face(s), s.waiting.step == "quench"
    say = sentence(s.waiting.say.removesuffix(words.SCREEN_ANSWERS))
    if v.brief and (label := words.present_label(s)):
        say = sentence(label[:1].upper() + label[1:])  # letters need the rows; page 1 says it in full
    elif v.low and quench:
        say = sentence(say.partition(". ")[0])  # the rest has been said before: now seconds count
    key = "SPACE as it leaves the furnace." if quench else "" if ANSWER in say else "SPACE when done."
    key = "Answer at the oven's own screen." if v.read_only else key
    say = say if v.read_only else say.replace(ANSWER, "SPACE")
    return lines(
        [
            text(
                (f" {words.shape(face, v.plain)} {face.big if quench else 'YOU'} ", _reversed(face.style)),
                (f" {say} {key}".rstrip(), "bold $strong"),
            ),
            _deadline(v),
        ]
    )


def _reversed(style: str) -> str:
    return f"bold reverse ${style or 'call'}"


def _deadline(v: View) -> Content:
    """Return until when the step waits, what happens without an answer, and what the element does."""
    s, left_s = v.s, words.deadline_s(v.s)
    assert s.waiting is not None
    then = "the heat goes off and the run ends" if s.waiting.heat_on_meanwhile else "the run ends"
    due = f"Until {words.later_time(s, left_s)}, {words.left(left_s)} left; if you do not answer, {then}."
    style = "bold $urgent" if words.face(s).style == "urgent" else "bold $strong"
    return text((due, style), (f" {words.heat_words(s.waiting)}", "$strong"))


def _next(v: View) -> Content:
    s = v.s
    if s.state not in LIVE:
        return _end(v)
    if v.stale:
        return Content("")  # nobody knows what comes
    if v.timeless:
        return text(("Next: ", "$soft"), (f"{s.waits}.", "$strong"))
    open_end = s.waiting is not None or not s.end_utc  # nobody knows how long a person takes
    following = words.next_segment(s)
    left = (
        "" if following is None else f", {words.left(s.total_left_s)} left"
    )  # the last step's is said already
    ends = "" if open_end else f" Ends {words.clock_time(s.end_utc)}{left}."
    if words.goes_nowhere(s):
        ends = " As it heats now it is not predicted to get there."
    coming = words.in_one_unit(s.next_words, v.degrees)
    if following is not None and following.label and following.kind == "operator":
        when = "" if s.waiting is not None else f" in {words.left(s.segment_left_s)}"
        coming = f"you, {following.label}{when}"  # its words stand beside the plan, and come with it
    if words.stage(s) == "T-10" and v.low and following is not None:
        return text((sentence(following.say.removesuffix(words.SCREEN_ANSWERS)), "$strong"), (ends, "$soft"))
    if words.stage(s) in ("T-10", "T-2"):
        return text((ends.strip(), "$soft"))
    return text(("Next: ", "$soft"), (sentence(coming or "the end of the heat"), "$strong"), (ends, "$soft"))


def _end(v: View) -> Content:
    """Return why the heat is over, whether it was read off, and how to leave; then what is left to do."""
    s, more = v.s, ""
    off = ". The heat is off, read back" if s.off_read_back and not v.stale else ""
    ended = s.cause or in_words(s.outcome or s.state)
    said = (
        f"ENDED: {ended}{off}"
        if ended.startswith(OFF)
        else f"{'The recording' if s.only_watched else 'The heat'} is over: {ended}"
    )
    begun = any(seg.started_s is not None for seg in s.segments)
    if begun and not s.trip and cut_short(s):
        more += f" What can be done about the part: {REMEDIES}."
    if v.over and v.cold:
        more += f" The oven was cold at {words.clock_time(s.utc)}; nothing is watching it now."
    leave = "" if v.web else " q leaves this screen."
    return text(
        (f"{sentence(said)}{leave}" if s.run else "", "bold $strong"),
        (more, "$strong"),
        (f" {sentence(s.note)}" if s.note else "", "$soft"),
    )
