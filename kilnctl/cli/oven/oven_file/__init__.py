"""The commands about oven files: which there are, what one can do, how a new one is written."""

from cyclopts import App

from kilnctl.cli.oven.oven_file.change import change
from kilnctl.cli.oven.oven_file.check import check
from kilnctl.cli.oven.oven_file.list_ovens import list_ovens
from kilnctl.cli.oven.oven_file.new import new
from kilnctl.cli.oven.oven_file.show import show

oven = App(
    name="oven",
    help="Oven files: list, write a new one by asking, change an answer, see what one can and cannot do.",
)
oven.command(list_ovens, name="list", sort_key=0)
oven.command(new, sort_key=1)
oven.command(check, sort_key=2)
oven.command(show, sort_key=3)
oven.command(change, sort_key=4)
