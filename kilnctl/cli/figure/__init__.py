"""The questions of the bench, one sub-command each: figure."""

from cyclopts import App

from kilnctl.cli.figure.bath import bath
from kilnctl.cli.figure.boiling import boiling
from kilnctl.cli.figure.cooling import cooling
from kilnctl.cli.figure.couple import couple
from kilnctl.cli.figure.dose import dose
from kilnctl.cli.figure.equal import equal
from kilnctl.cli.figure.growth import growth
from kilnctl.cli.figure.hardness import hardness
from kilnctl.cli.figure.oven import oven
from kilnctl.cli.figure.power import power
from kilnctl.cli.figure.quenched import quenched
from kilnctl.cli.figure.rate import rate
from kilnctl.cli.figure.scale import scale
from kilnctl.cli.figure.skin import skin
from kilnctl.cli.figure.soak import soak
from kilnctl.cli.figure.survey import survey
from kilnctl.cli.figure.temper import temper
from kilnctl.cli.figure.through import through
from kilnctl.cli.figure.transfer import transfer
from kilnctl.cli.figure.uncertainty import uncertainty
from kilnctl.cli.figure.workshop.gas import gas
from kilnctl.cli.figure.workshop.pyrometer import pyrometer
from kilnctl.cli.figure.workshop.weight import weight

figure = App(name="figure", help="Answer a bench question, with range, source and assumptions.")
figure.command(temper, sort_key=0)
figure.command(hardness, sort_key=1)
figure.command(scale, sort_key=2)
figure.command(equal, sort_key=3)
figure.command(dose, sort_key=4)
figure.command(quenched, sort_key=5)
figure.command(soak, sort_key=6)
figure.command(through, sort_key=7)
figure.command(transfer, sort_key=8)
figure.command(bath, sort_key=9)
figure.command(cooling, sort_key=10)
figure.command(skin, sort_key=11)
figure.command(growth, sort_key=12)
figure.command(weight, sort_key=13)
figure.command(oven, sort_key=14)
figure.command(rate, sort_key=15)
figure.command(power, sort_key=16)
figure.command(boiling, sort_key=17)
figure.command(couple, sort_key=18)
figure.command(pyrometer, sort_key=19)
figure.command(survey, sort_key=20)
figure.command(uncertainty, sort_key=21)
figure.command(gas, sort_key=22)
