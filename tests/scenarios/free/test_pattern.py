"""Motions of the line's end: way, derivatives, tables."""

import numpy as np
import pytest

from simsoft.case.model import HopInput
from simsoft.scenarios.free.line_path import hop_path, leads_along, tow_leads

HOPS = [
    HopInput("lift-drop", 0.3, 0.5),
    HopInput("twitch", 0.1, 1.0),
    HopInput("shake", 0.008, 5.0),
    HopInput(times=(0.0, 0.5, 1.5, 4.0), positions=(0.0, 0.3, 0.3, 0.0)),
]


@pytest.mark.parametrize("hop", HOPS)
def test_velocity_and_acceleration_are_the_derivatives(hop):
    time = np.linspace(0.01, 3.9, 20001)
    path = hop_path(hop, time)
    for order in (0, 1):
        slope = np.gradient(path[:, order], time)
        size = np.abs(path[:, order + 1]).max()
        off = np.abs(slope - path[:, order + 1]) > 0.02 * size
        assert off.mean() < 0.01  # jumps of the acceleration where a pull begins and ends


@pytest.mark.parametrize("hop", HOPS[:3])
def test_the_way_is_the_amplitude_and_it_repeats(hop):
    period = 1.0 / hop.cadence
    time = np.linspace(0.0, period, 2001)[:-1]
    first, second = hop_path(hop, time), hop_path(hop, time + 3.0 * period)
    assert np.ptp(first[:, 0]) == pytest.approx(hop.amplitude, rel=1e-4)
    assert first[0, 0] == pytest.approx(0.0, abs=1e-12)
    assert second[:, 0] == pytest.approx(first[:, 0], abs=1e-6)


def test_a_table_goes_through_its_points_and_rests_after():
    path = hop_path(HOPS[3], np.array([0.0, 0.5, 1.5, 4.0, 9.0]))
    assert path[:, 0] == pytest.approx([0.0, 0.3, 0.3, 0.0, 0.0])
    assert path[-1, 1:] == pytest.approx([0.0, 0.0])


def test_leads_lie_along_the_line():
    direction = np.array([-0.6, 0.0, 0.8])
    leads = leads_along(np.array([[0.1, 0.2, 0.3]]), direction, 5.0)
    assert leads[0, 0] == pytest.approx(5.1 * direction)
    assert leads[0, 1:] == pytest.approx(np.outer([0.2, 0.3], direction))
    assert tow_leads(0.4, np.array([2.0]))[0, 0] == pytest.approx([-0.8, 0.0, 0.0])
