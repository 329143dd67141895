"""Where the entries of a backup belong among one's own."""

from kilnctl.logbook.readers import Entry
from kilnctl.logbook.restored import in_order


def test_ones_own_rows_keep_the_order_in_which_they_were_written() -> None:
    """A computer without a clock of its own dates a row wrongly; only what was restored goes by its date."""

    def row(number: int, utc_s: float, **data: object) -> Entry:
        return Entry(number, "any", "bench", None, utc_s, None, data)

    own, mark = [row(1, 500.0), row(2, 0.0), row(3, 700.0)], row(9, 700.0, numbers=[4, 5])
    assert in_order(own, []) == own
    got = in_order([*own, row(4, 600.0), row(5, 900.0)], [mark])
    assert [one.number for one in got] == [1, 2, 4, 3, 5]
