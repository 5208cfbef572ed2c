"""The records as a table: a spreadsheet reads back what records.json holds."""

import csv
import dataclasses
import io
import json

from simsoft.report.csv import as_csv
from simsoft.results.record import Record


def rows_of(records):
    return list(csv.DictReader(io.StringIO(as_csv(records))))


def test_every_number_comes_back(synthetic_result):
    rows = iter(rows_of(synthetic_result.records))
    for record in synthetic_result.records:
        values = record.value if isinstance(record.value, tuple) else (record.value,)
        for value in values:
            row = next(rows)
            assert (row["scenario"], row["part"], row["quantity"], row["unit"]) == (
                record.scenario, record.part, record.quantity, record.unit,
            )  # fmt: skip
            if isinstance(value, str) or value is None:
                assert row["value"] == (value or "")
            else:
                assert json.loads(row["value"]) == value
            for key, at in record.at.items():
                assert row[f"at_{key}"] == (at if isinstance(at, str) else repr(at))
    assert next(rows, None) is None


def test_vectors_take_a_row_for_each_component():
    tip = Record("", "tail", "tip", (1.0, 2.0, 3.0), (0.5, 1.5, 2.5), None, "m", "model")
    inertia = Record("", "tail", "inertia", (1.0, 0.0, 0.0, 2.0), None, None, "kg m^2", "model")
    rows = rows_of([tip, inertia])
    assert [row["component"] for row in rows] == ["x", "y", "z", "1", "2", "3", "4"]
    assert [row["low"] for row in rows[:3]] == ["0.5", "1.5", "2.5"]
    assert {row["high"] for row in rows} == {""}


def test_no_name_is_reckoned_with(synthetic_result):
    record = dataclasses.replace(synthetic_result.records[0], part="=cmd|' /C calc'!A0, \nx")
    (row,) = rows_of([record])
    assert row["part"] == "'=cmd|' /C calc'!A0, x"
