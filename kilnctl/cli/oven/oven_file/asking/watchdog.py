"""What drops the heat by itself, by asking: a place of its own, the heater's command, what arms it."""

from collections.abc import Callable
from typing import Any

from kilnctl.cli.oven.oven_file.asking.questions import (
    ARM,
    ARM_BESIDE,
    BESIDE,
    BETWEEN,
    DEAD_MAN,
    IS_READ,
    KEEPS,
    MODE_ONCE_ARMED,
    ONE_MORE_ARM,
    OWN,
    READ_FEEDS,
    RENEWED,
    STAND_BY,
    STANDS_BY,
    TIME_IN_A_REGISTER,
    TIMER,
    TOLD_KEEPS,
    TOLD_STAND_BY,
    TOLD_STANDS_BY,
    WRITTEN,
)
from kilnctl.cli.oven.oven_file.asking.text_language import Languages
from kilnctl.cli.oven.oven_file.file_text import Path
from kilnctl.config.abilities import shorter, too_long
from kilnctl.units import parse_duration_s

Table = dict[str, Any]
SHORT = "10 s"  # the longest that passes
HELD = ("drops_after", "holds")  # keys of how long the heat goes on by itself
Say = Callable[[str], object]
Yes = Callable[[str], bool]
Key = Callable[[Path, Any], Any]


def said_of_a_time(key: str, answer: Any, timer: bool = False) -> list[str]:
    """Return what is said at once of a time after which no heat may begin; nothing of a shorter one."""
    if key not in HELD or not isinstance(answer, str) or not (why := too_long(parse_duration_s(answer))):
        return []
    return [
        f"{answer}: the oven can be watched with it, NOT heated: {why}",
        *(f"  - {way}" for way in shorter(key, timer)),
    ]


class Watchdog:
    """The questions about a bench's watchdog; `holds` are the keys of a heater whose own command feeds it."""

    def __init__(
        self,
        yes: Yes,
        key: Key,
        say: Callable[[str], object] = lambda _line: None,
        languages: Languages | None = None,
    ) -> None:
        self._yes, self._key, self._say, self._languages = yes, key, say, languages
        self.holds: Table = {}
        self.stands_by = self.sets_its_time = False

    def known(self, path: Path) -> Any:
        """Return the answer to a key that the watchdog's own questions have given, None for any other."""
        if not self.stands_by:
            return None
        found: Table = {"drops_after": self.holds["holds"], "zero_drops": True}
        return found.get(path[-1]) if path[0] == "dead_man" else None

    def has_its_own_place(self, example: Table, heater: Table, line_board: bool) -> bool:
        """Ask whether a watchdog has a place of its own; the heater's own command may feed it too."""
        follows = heater.get("kind") == "set-point"
        if "holds" in heater and not follows:
            return self._yes(f"dead_man: {BESIDE}")
        if follows and ("holds" in heater or self._yes(f"output.heater.holds: {RENEWED}")):
            held = heater.get("holds") or self._key(("output", "heater", "holds"), "")
            if too_long(parse_duration_s(held)) and self._yes(f"arm: {TIME_IN_A_REGISTER}"):
                self._say(f"# So holds is {SHORT}: write that number as the arm that is asked for below.")
                held, self.sets_its_time = SHORT, True
            self.holds = {"kind": "set-point", "holds": held, "link_loss": "drops"}
            mode = STANDS_BY if "register" in example else TOLD_STANDS_BY
            self.stands_by = self._yes(f"output.heater.back: {mode}")
            return self.stands_by or ("holds" in heater and self._yes(f"dead_man: {BESIDE}"))
        why = WRITTEN if follows else TIMER if "then" in example else DEAD_MAN
        if (follows and heater.get("link_loss") != "drops") or not self._yes(f"dead_man: {why}"):
            return False
        if follows or line_board or "then" in example or not self._yes(f"output.heater.holds: {OWN}"):
            return True
        held = self._key(("output", "heater", "holds"), "")
        self.holds = {"kind": "duty" if heater.get("kind") == "duty" else "pulse", "holds": held}
        return False

    def stored(self, made: Table, say: Say) -> bool:
        """Ask whether the board keeps what feeds it; False where it does, and reading does not feed."""
        told = self._languages is not None and self._languages.says(made)
        keeps = TOLD_KEEPS if told else KEEPS if made.get("table") == "holding" else ""
        if not keeps or not self._yes(f"dead_man.stored: {keeps}"):
            return True
        if self._shown_at(made) and self._yes(f"dead_man.stored: {READ_FEEDS}"):
            made["stored"] = True
            say(IS_READ)
        return bool(made.get("stored"))

    def mode_read_back(self, file: Table) -> Table:
        """Ask whether the mode of an instrument that keeps its set-point shows that the heat is dropped."""
        dead_man = file.get("dead_man")
        follows = file["output"]["heater"].get("kind") == "set-point"
        if not (follows and dead_man):
            return {}
        back = self._shown_at(dead_man)
        asked = TOLD_STAND_BY if "field" in back else STAND_BY
        if not back or not (self.stands_by or self._yes(f"output.heater.back: {asked}")):
            return {}
        dead_man["zero_drops"] = True
        return {"back": back}

    def _shown_at(self, made: Table) -> Table:
        """Return where what feeds it is read; empty for a text board that tells it in no answer."""
        if "field" in made:
            return {} if self._languages is None else self._languages.shown_at(made)
        return {key: made[key] for key in ("device", "table", "register") if key in made}

    def is_mode(self, arm: Table, heater: Table) -> bool:
        """True for an arm that is the mode of an instrument: it stands at its back, or a person says so."""
        seen_at = self._shown_at(arm)
        if heater.get("kind") != "set-point" or not seen_at or arm.get("stored") or not arm.get("write"):
            return False
        back = heater.get("back")
        named = isinstance(back, dict) and all(back.get(key) == one for key, one in seen_at.items())
        return named or self._yes(f"dead_man: {MODE_ONCE_ARMED}")

    def arms(self, one: Callable[[int], Table]) -> Table:
        """Ask what is written once before a heat; `one` asks for a place, {} where off writes it."""
        made: list[Table] = []
        more = self.sets_its_time or self._yes(f"arm: {ARM_BESIDE if self.stands_by else ARM}")
        while more:
            made += [table] if (table := one(len(made))) else []
            more = self._yes(f"arm: {ONE_MORE_ARM}")
        return {"arm": made} if made else {}

    def power(self, heater: Table, full: Any) -> Table:
        """Ask whether a heater takes a power: one whose number of full heat is high."""
        plain = isinstance(full, int) and full > 1 and heater.get("off", 0) == 0 and "kind" not in heater
        if not plain or not self._yes(f"output.heater.kind: {BETWEEN}"):
            return {"on": full} if plain else {}
        return {"on": full, "kind": "duty"}
