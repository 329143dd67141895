"""The command that keeps a word for a part's story: part note."""

from kilnctl.cli.record.open_logbook import keep
from kilnctl.cli.record.part.story import story


def note(name: str, text: str, /, *, run: int | None = None, who: str = "") -> int:
    """Keep a note about a part: where it went, what the customer said.

    Parameters
    ----------
    name:
        The part or batch.
    text:
        The note.
    run:
        The run that it belongs to.
    who:
        Who wrote it.
    """
    from kilnctl.logbook.entries import Note

    keep(Note(name, text, run, who))
    return story(name)
