"""Plates that a rod stands in for are named, with the reason."""

from dataclasses import replace

from physics import case_of, strip_part

from simsoft.case.model import PaddleInput
from simsoft.lure import assemble
from simsoft.solve.stand_in import FREE, stand_in


def strips(model):
    claw = strip_part(name="claw", model=model)
    paddle = PaddleInput("disc", 15e-3, 15e-3, 3e-3, 1.5, 2e-3)
    tail = replace(claw, name="tail", kind="paddle-tail", paddle=paddle)
    return assemble(case_of(claw, tail)).strips


def test_plates_are_named_in_one_line():
    said = stand_in(strips("plate"), "fall", FREE)
    assert said.startswith("fall: claw: taken as a rod; tail: its paddle taken as stiff: ")
    assert FREE in said
    assert "\n" not in said


def test_rods_need_no_stand_in():
    assert stand_in(strips("rod"), "fall", FREE) == ""
