"""Progress: a bar whose clock goes on, and plain lines off a terminal."""

import sys

import pytest

from simsoft.cli import console
from simsoft.cli.pick import _beginning
from simsoft.design.sweep.axis import read_axis
from simsoft.design.sweep.runs import RunSpec
from simsoft.design.tolerance import Trial


@pytest.fixture
def clock(monkeypatch):
    now = [100.0]
    monkeypatch.setattr(console.time, "monotonic", lambda: now[0])
    return now


def test_off_a_terminal_a_long_command_says_a_line_now_and_then(clock, capsys):
    with console.progress_bar(quiet=False, plain=True) as progress:
        progress("88 changes of 7 keys", 0.0)
        for _ in range(150):  # two and a half minutes
            clock[0] += 1.0
            progress("scatter: 12 of 5632 runs", 0.1)
    assert capsys.readouterr().err.splitlines() == [
        "88 changes of 7 keys",
        "1 min: scatter: 12 of 5632 runs",
        "2 min: scatter: 12 of 5632 runs",
    ]


def test_quiet_stays_quiet(capsys):
    with console.progress_bar(quiet=True, plain=True) as progress:
        assert progress is None
    assert capsys.readouterr().err == ""


def test_the_clock_of_the_bar_goes_on_after_a_stage_is_done(monkeypatch):
    from rich import progress as rich

    bars = []

    class Kept(rich.Progress):
        def __init__(self, *columns, **options):
            super().__init__(*columns, **options)
            bars.append(self)

    monkeypatch.setattr(sys.stderr, "isatty", lambda: True, raising=False)
    monkeypatch.setattr(rich, "Progress", Kept)
    with console.progress_bar(quiet=False) as progress:
        progress("middles: 88 of 88 runs", 1.0)
        progress("scatter: 1 of 5632 runs", 0.0)
        (task,) = bars[0].tasks
        assert task.finished_time is None


def test_a_pick_says_at_its_start_how_much_it_will_run():
    axes = [read_axis("parts.tail.thickness=2:3:0.5 mm"), read_axis("material.durometer=46,50 OO")]
    trial = Trial(None, None, [], (RunSpec(), RunSpec()), "fast")
    assert _beginning(axes, trial, 48, 3) == (
        "5 changes of 2 keys: up to 650 runs; the best 3 again with bands"
    )
