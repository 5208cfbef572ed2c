"""Tables of long runs: what a line holds, how tables are merged, what the text says."""

from __future__ import annotations

from pathlib import Path

import pytest
import tally

ROW = tally.Row("FILES", "csv", "track", "seeds 0 to 49", {"measured": 20, "refused": 30}, "abc")


def test_a_row_is_read_back_and_a_half_line_is_none(tmp_path: Path) -> None:
    path = tmp_path / "table.jsonl"
    assert tally.read(path) == []
    tally.append(path, ROW)
    with path.open("a") as file:
        file.write(tally.line(ROW)[:40])
    assert tally.read(path) == [ROW]


def test_a_slice_in_two_tables_counts_once_the_last_one() -> None:
    again = ROW._replace(counts={"refused": 50})
    other = ROW._replace(slice="seeds 50 to 99")
    assert tally.merged([[ROW], [again, other]]) == [again, other]
    assert tally.reached(tally.merged([[ROW], [again, other]]), "FILES", "csv") == 100


def test_kills_are_counted_not_what_became_of_the_sweeps() -> None:
    row = tally.Row("KILLS", "fast", "fast", "seed 0, 10", {"kills": 10, "ended": 6})
    assert tally.reached([row], "KILLS", "fast") == 10


def test_answers_of_one_question_are_equal_or_said_to_be_different() -> None:
    rows = [
        tally.Row("BIT-EQUAL", "each demo", "run of a", where, {f"answer {digest}": 1})
        for where, digest in (("once", "1f"), ("again", "1f"), ("on one core", "2e"))
    ]
    assert [list(row.counts) for row in tally.compared(rows)] == [
        ["equal"], ["equal"], ["different"]
    ]  # fmt: skip
    assert "on one core: different" in tally.text(rows)


@pytest.mark.parametrize("word", ["traceback", "wrong", "not equal", "rows lost", "hang", "crash"])
def test_a_defect_is_no_fine_outcome(word: str) -> None:
    assert not tally.fine(word)


def test_the_committed_text_is_that_of_the_committed_counts() -> None:
    rows = tally.read(tally.COUNTS)
    assert rows == tally.merged([rows])
    assert tally.COUNTS.with_suffix(".txt").read_text(encoding="utf-8") == tally.text(rows)


def test_no_committed_count_is_a_defect_that_is_not_said() -> None:
    for row in tally.compared(tally.read(tally.COUNTS)):
        assert row.defects or all(map(tally.fine, row.counts)), row
