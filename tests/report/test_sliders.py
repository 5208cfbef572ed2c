"""The sliders of the page: where they stand, and from which start they go."""

import dataclasses
import json

import pytest
from pages import Page, stored

from simsoft.design.screened import screened
from simsoft.report.html.page import run_page
from simsoft.results.record import BY_LOOK


@pytest.mark.parametrize("model", ["rod", "plate"])
def test_sliders_stand_only_where_screening_serves_a_part(synthetic_result, tmp_path, model):
    """A paddle that bends as a plate is not screened."""
    tail, leg = synthetic_result.case.parts
    tail = dataclasses.replace(tail, model=model)
    case = dataclasses.replace(synthetic_result.case, parts=(tail, leg))
    result = dataclasses.replace(synthetic_result, case=case)
    assert (screened(case) is not None) == (model == "rod")
    assert ("What if" in run_page(stored(result, tmp_path))) == (model == "rod")


def test_sliders_start_from_what_was_seen(synthetic_result, tmp_path):
    tail, leg = synthetic_result.case.parts
    case = dataclasses.replace(
        synthetic_result.case, parts=(dataclasses.replace(tail, model="rod"), leg)
    )
    records = tuple(
        dataclasses.replace(r, value=1.3, basis=f"{r.basis}; {BY_LOOK}")
        if (r.quantity, r.part) == ("start_speed", "tail") else r
        for r in synthetic_result.records
    )  # fmt: skip
    plain = dataclasses.replace(synthetic_result, case=case)
    given = dataclasses.replace(plain, records=records)
    texts = [run_page(stored(result, tmp_path)) for result in (plain, given)]
    assert ["All starts are moved by the factor" in text for text in texts] == [False, True]
    starts = []
    for text in texts:
        told = json.loads(Page(text).text("script", id="designs"))
        place = 0
        for axis in told["axes"]:
            place = place * len(axis["told"]) + axis["own"]
        starts.append(told["designs"][place][0])
    assert starts[1] == pytest.approx(1.3)
    assert starts[0] != pytest.approx(1.3)
