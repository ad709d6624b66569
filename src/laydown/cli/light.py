"""``laydown light``: what another light does to matches, and to the work on a wall."""

from laydown.cli.commands import Noun

light = Noun(
    "light",
    words="Other lights than day: which matches hold under a lamp, and what light does over time.",
    example='laydown light check Quince --range Orchard --paper "Gannet smooth"',
)
