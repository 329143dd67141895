"""Pictures of several ovens: the first is looked at, the others follow by name, a release stays said."""

from dataclasses import replace

from unit.cli.heat.test_follow_job import BASE

from kilnctl.dashboard.oven_store import Gallery


def three() -> Gallery:
    gallery = Gallery(None)
    for name in ("middle", "last", "first"):
        gallery.take(replace(BASE, oven=name))
    return gallery


def test_the_first_picture_is_looked_at_and_turning_goes_round_by_name() -> None:
    gallery = three()
    assert gallery.shown is not None
    assert gallery.shown.oven == "middle"
    assert [s.oven for s in gallery.others] == ["first", "last"]
    seen = []
    for _ in range(3):
        gallery.turn()
        seen.append(gallery.oven)
    assert seen == ["first", "last", "middle"]


def test_a_run_begins_its_history_once() -> None:
    gallery = Gallery(None)
    assert gallery.take(replace(BASE, run=4)) is not None
    assert gallery.take(replace(BASE, run=4)) is None
    assert gallery.take(replace(BASE, run=5)) is not None


def test_a_released_oven_that_cannot_be_read_counts_as_hot() -> None:
    gallery = three()
    tripped = replace(BASE, oven="first", process_c=None, trip="no sensor", trip_kind="sensor_lost")
    gallery.release(tripped, "14:05")
    shown = gallery.newest["first"]
    assert (shown.word, shown.trip, shown.outcome) == ("off but hot", "", "tripped, reset 14:05")
