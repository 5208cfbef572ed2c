"""What is not to be trusted of one design stays with it, in a table and in its file."""

import pytest
from sweep_cases import RIGGED

from simsoft.case.read import loads
from simsoft.design.brief import judge
from simsoft.design.sweep.hdf5 import read_h5, write_h5
from simsoft.design.sweep.row import DONE, Row, cells
from simsoft.design.sweep.table import SweepTable, columns_of
from simsoft.results.record import Record, distrusted, why_untrusted

WISH = f'{RIGGED}\n[[brief]]\nquantity = "hook_clearance"\nat_least = "1 mm"\n'


def gap(value):
    at = {"speed": 0.3, "state": "cycle"}
    return Record("swim", "tail", "hook_clearance", value, None, None, "m", "march", at)


def table_of(records):
    rows = [[(Row(str(i), DONE, "", cells([r])), None)] for i, r in enumerate(records)]
    columns, status, reason = columns_of(rows, len(rows))
    return SweepTable(
        "Doubted", WISH, {"mode": "full"}, ("parts.tail.length",), ("mm",),
        [(f"{i + 8} mm",) for i in range(len(rows))], status, reason, columns,
    )  # fmt: skip


@pytest.mark.parametrize("first", [True, False])
def test_the_doubt_of_a_design_is_its_own_in_memory_and_on_disk(tmp_path, first):
    folded = distrusted(gap(8e-3), "in the body")
    records = [folded, gap(4e-3), gap(2e-4)] if first else [gap(4e-3), folded, gap(2e-4)]
    table = table_of(records)
    write_h5(table, tmp_path / "sweep.h5", "digest")
    for found in (table, read_h5(tmp_path / "sweep.h5")):
        back = [found.records(i)[0] for i in range(3)]
        assert back == records
        assert [why_untrusted(r) for r in back] == [why_untrusted(r) for r in records]
        words = [judge(loads(WISH), [r], banded=False)[0].verdict for r in back]
        meets = ["not answered", "meets"] if first else ["meets", "not answered"]
        assert words == [*meets, "misses"]
