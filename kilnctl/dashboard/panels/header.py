"""The top of the screen: which oven, how old the picture is, the caution, and what to do about old data."""

from textual.content import Content

from kilnctl.dashboard import formatting as words
from kilnctl.dashboard.drawing.text_layout import (
    first_that_fit,
    lines,
    plate,
    sentence,
    spread,
    text,
)
from kilnctl.dashboard.view_state import View, unanswered
from kilnctl.link.trip_head import action, trip_head

OTHER = Content.from_markup("[@click=app.oven][bold $strong]o[/] [$soft]shows it[/][/]")


def header(v: View, width: int) -> Content:
    """Return the first row: which oven, which heat, how old the picture is."""
    s, age = v.s, freshness(v)
    speed = f" ×{s.time_scale:g}" if s.time_scale != 1.0 else ""
    simulated = f" SIMULATED{speed}" if s.simulated else ""
    facts = [
        "read-only" if v.read_only else "",
        "unattended" if s.unattended else "",
        s.part,
        s.profile,
        f"run {s.run}" if s.run else "",
        s.steel,
    ]
    room = width - len(s.oven) - len(simulated) - age.cell_length - 3
    heat = first_that_fit([fact for fact in facts if fact], room)
    return spread(text((s.oven, "bold $strong"), (f"{simulated}  {heat}", "$soft")), age, width)


def freshness(v: View) -> Content:
    """Return the age of the picture and the clock."""
    at = words.clock_time(v.s.utc)
    if v.over:
        return text((f"ENDED, last {at}", "bold $strong"))
    if not v.attached:
        return text((f" NO CONNECTION, last {at} ", "reverse bold $soon"))
    if v.grey:
        return text((f" OLD: {v.age_s:.0f} s, from {at} ", "reverse bold $soon"))
    return text((f"live  {at}" if v.age_s < 1.5 else f"live {v.age_s:.0f} s  {at}", "$soft"))


def others(views: list[View], width: int) -> Content:
    """Return a row for each oven that is not shown in full: no oven may burn unseen."""
    return lines([_other(v, width) for v in views])


def _other(v: View, width: int) -> Content:
    s, face = v.s, v.face
    abnormal = face.style
    style = f"bold reverse ${abnormal}" if abnormal else "bold $strong"
    said = state_said(v) if action_of(v) == "" or v.stale else face.big
    state = f" {words.shape(face, v.plain)} {said} "
    head = text((f"{s.oven} ", "bold $strong"), (state, style))
    room = width - head.cell_length - OTHER.cell_length - 2
    facts = text((f" {first_that_fit(_other_facts(v), room)}", "$strong"))
    return spread(Content("").join([head, facts]), OTHER, width)


def _other_facts(v: View) -> list[str]:
    s, alarms = v.s, len(unanswered(v.s))
    left_s = words.deadline_s(s) if s.waiting is not None else s.total_left_s
    left_s = None if v.timeless else left_s
    goal = f" → {v.degrees.point(s.goal_c)}" if s.goal_c is not None and not v.stale else ""
    at = words.clock_time(s.utc)
    facts = [
        f"ended, last {at}" if v.over else f"OLD, from {at}" if v.grey else "",
        action_of(v),
        f"{'was ' if v.stale else ''}{v.degrees.point(s.process_c)}{goal}",
        f"{alarms} alarm{'s' if alarms > 1 else ''}" if alarms else "",
        s.trip or (f"{words.left(left_s)} left" if left_s is not None else ""),
    ]
    return [fact for fact in facts if fact]


def action_of(v: View) -> str:
    """Return what to do about a trip whose heat is not known to be off; empty at any other time."""
    head = trip_head(v.s, v.stale, v.cut.proves_off(v.s)) if v.s.trip else None
    return head.action if head is not None and head.level != "off" else ""


def state_said(v: View) -> str:
    """Return the state in words; of an old picture only what it was."""
    return f"no data, was {words.state_word(v.s)}" if v.stale else words.state_word(v.s)


def caution(v: View, width: int) -> Content:
    """Return the words that every screen shows all the time; broken between sentences where they can be."""
    said = words.caution(v.s.isolator)
    if len(said) > width:
        first, _, last = said.rpartition(". ")
        said = f"{first}.\n{last}" if len(first) < width else said
    return text((said, "bold $strong"))


def banner(v: View, width: int) -> Content:
    """Return what is said when the picture is old: nobody may act on it. Empty while it is young."""
    if not v.banner:
        return Content("")
    at = words.clock_time(v.s.utc)
    if not v.attached:
        why = f"THE CONTROLLER HAS GONE. Last data {at}, {words.ago(v.age_s)} ago."
    else:
        why = f"NO NEW DATA FOR {v.age_s:.0f} s. What you see is from {at}."
    said = v.cut.words and sentence(v.cut.words[:1].upper() + v.cut.words[1:])
    then = f"{said} {_last_known(v)} at the oven; isolator: {v.s.isolator or 'not named'}.".lstrip()
    if v.cut.failed:
        why, then = f"{action('unproven', v.s.isolator)} {why}", said
    mark = "!!" if v.plain else "▲"
    known_off = not v.cut.failed and (words.off_is_known(v.s) or v.cut.proves_off(v.s))
    return plate(f"{mark} {why} {then}", width, f"bold reverse ${'soon' if known_off else 'urgent'}")


def _last_known(v: View) -> str:
    """Return what is to be feared of an oven that nobody has spoken of since, and that a person must look."""
    if v.s.oven in v.cut.read_back or (v.cut.words and v.s.only_watched):
        return "Look"
    if v.s.only_watched:
        return "Nothing was heated here: look"
    return f"The heat {'was off, read back' if words.off_is_known(v.s) else 'may be on'}: look"


def too_small(v: View, width: int, height: int, smallest: tuple[int, int]) -> Content:
    """Return what can be said in a terminal that is too small: the state, and how to switch off."""
    s = v.s
    too_small_ = (
        f"This terminal is too small ({width}×{height}): make it at least {smallest[0]}×{smallest[1]}, "
        "or use a smaller font."
        if not v.web
        else "This window is too small for the whole screen: enlarge it, or open the small page (link above)."
    )
    rows = [
        text(
            (f"{state_said(v)} {v.degrees.point(s.process_c)}  ", "bold $strong"),
            (v.off_key, "bold reverse"),
        ),
        freshness(v),
        text((words.trip_words(s, v.stale, v.cut.proves_off(s)), "bold $urgent")) if s.trip else None,
        text((f"You: {s.waiting.say.removesuffix(words.SCREEN_ANSWERS)}", "bold $soon"))
        if s.waiting is not None
        else None,
        text((words.caution(s.isolator), "bold $strong")),
        text((too_small_, "$soft")),
    ]
    return lines([row for row in rows if row is not None])
