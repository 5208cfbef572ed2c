"""A gap to the hook that was not found is told, whatever kind of part was solved."""

import importlib
from dataclasses import replace

import pytest

from simsoft.case.read import loads
from simsoft.core.errors import SolveError
from simsoft.engine.run import run
from simsoft.results.record import select

RIGGED = """
title = "Test jig"
[material]
durometer = "46 OO"
[body]
family = "grub"
length = "40 mm"
height = "10 mm"
[rig.hook]
wire_diameter = "1 mm"
gap = "10 mm"
shank = "32 mm"
[[parts]]
name = "tail"
kind = "{kind}"
length = "10 mm"
width = "5 mm"
thickness = "2.4 mm"
model = "{model}"
{more}
position = ["40 mm", "0 mm", "0 mm"]
[numerics]
elements = 4
[[scenarios]]
name = "still"
kind = "hold"
[[scenarios]]
name = "swim"
kind = "retrieve"
speed = ["0.3 m/s"]
onset = false
"""
PADDLE = 'paddle_diameter = "12 mm"\npaddle_thickness = "3 mm"'
KINDS = [
    ("paddle-tail", "rod", PADDLE, "rod"),
    ("strip", "plate", "", "plate"),
    ("paddle-tail", "plate", PADDLE, "paddle"),
]


def gaps(kind, model, more):
    case = loads(RIGGED.format(kind=kind, model=model, more=more))
    found = select(run(case, bands=False).records, "hook_clearance")
    return {(r.scenario, r.at["state"]): r for r in found if "spot" not in r.at}


@pytest.mark.parametrize(("kind", "model", "more", "body"), KINDS)
def test_a_march_that_fails_leaves_its_gap_unknown(kind, model, more, body, monkeypatch):
    def fails(*_, **__):
        raise SolveError("the march diverged")

    solver = importlib.import_module(f"simsoft.scenarios.retrieve.{body}")
    marcher = solver.Marcher if model == "rod" else solver.BODY
    monkeypatch.setattr(marcher, "at", fails)
    found = gaps(kind, model, more)
    assert found["swim", "rest"].value is not None
    assert found["swim", "cycle"].value is None
    assert found["swim", "cycle"].reason == "the march diverged"


@pytest.mark.parametrize(("kind", "model", "more", "body"), KINDS)
def test_no_rest_shape_leaves_every_gap_unknown(kind, model, more, body, monkeypatch):
    still = importlib.import_module(f"simsoft.scenarios.hold.{body}")
    made = still.BODY.prepare
    never = replace(still.BODY, prepare=lambda *a, **k: lost(made(*a, **k)))
    monkeypatch.setattr(still, "BODY", never)
    found = gaps(kind, model, more)
    for place in (("still", "rest"), ("swim", "rest")):
        assert found[place].value is None
        assert found[place].reason == "it buckles"


def lost(ready):
    still = ready.still
    changes = {"found": False, "message": "it buckles"}
    gone = still._replace(**changes) if hasattr(still, "_replace") else replace(still, **changes)
    return replace(ready, still=gone)
