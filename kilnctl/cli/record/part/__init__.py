"""The commands about one part or batch: its story, and what is measured on it after the heat."""

from cyclopts import App

from kilnctl.cli.record.part.air_cool import air_cool
from kilnctl.cli.record.part.bow import bow
from kilnctl.cli.record.part.describe import describe
from kilnctl.cli.record.part.hardness_test import hardness_test
from kilnctl.cli.record.part.note import note
from kilnctl.cli.record.part.story import story

part = App(name="part", help="Tell a part's whole story, or keep what was measured on it.")
part.default(story)
part.command(describe, sort_key=0)
part.command(hardness_test, name="test", sort_key=1)
part.command(bow, sort_key=2)
part.command(air_cool, sort_key=3)
part.command(note, sort_key=4)
