"""A part's whole story as a page of the same look as a record."""

from kilnctl.clock import say_minute
from kilnctl.report.layout.document import Block, Document, Heading, Pairs, Paragraphs, Table
from kilnctl.report.part_history import Story
from kilnctl.report.time_words import spoken
from kilnctl.report.workshop import Workshop

HEAD, WIDTHS = ("when", "what"), (19.0, 81.0)


def part_page(story: Story, shop: Workshop) -> Document:
    """Return a part's story as a document."""
    rows = tuple((say_minute(at), words) for at, words in story.lines)
    hot = (("above 700 °C", spoken(story.over_700_s)), ("above 800 °C", spoken(story.over_800_s)))
    of = "Time at heat, real heats only (the part's estimate where there is one)"
    blocks: tuple[Block, ...] = (
        Heading(story.part, "The whole story: heats, tests, bows and notes", shop.words, shop.mark),
        Table("What happened, oldest first", HEAD, rows, WIDTHS),
        *((Pairs(of, hot),) if story.over_700_s else ()),
        *((Paragraphs("To know", story.hints),) if story.hints else ()),
    )
    return Document(story.part, blocks, story.part)
