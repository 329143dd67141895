"""The commands about what an oven or a thing of the shop needs: calibration, survey, ageing, reminders."""

from cyclopts import App

from kilnctl.cli.oven.care.ageing import ageing
from kilnctl.cli.oven.care.calibrate import calibrate
from kilnctl.cli.oven.care.due import due
from kilnctl.cli.oven.care.fixed_point import fixed_point
from kilnctl.cli.oven.care.reminders import count, done, remind
from kilnctl.cli.oven.care.survey import survey
from kilnctl.cli.oven.care.take_away import take_away

care = App(
    name="care", help="Look after an oven or anything in the workshop: calibrate, survey, see what is due."
)
care.command(due, sort_key=0)
care.command(calibrate, sort_key=1)
care.command(take_away, sort_key=2)
care.command(fixed_point, sort_key=3)
care.command(survey, sort_key=4)
care.command(ageing, sort_key=5)
care.command(remind, sort_key=6)
care.command(done, sort_key=7)
care.command(count, sort_key=8)
