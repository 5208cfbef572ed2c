"""A bounded share of the fuzz for every run of the tests; ``run.py`` is the long one."""

from __future__ import annotations

import logging
import os
from collections import Counter
from pathlib import Path

import kinds
import large
import large_meshes
import mutations
import outcomes
import pytest
import strategies
import workers
from clock import slower
from hypothesis import HealthCheck, given, settings

SHARE = 25  # files of each kind
FEWER = {"clip": 10, "svg": 12, "dxf": 12, "outline": 12}  # each takes longer
SLOW = 2.0  # times that a crowded machine's processor is slower than the table's
SEED = 7_000_000  # others than those of the long run


@pytest.mark.parametrize("kind", tuple(kinds.KINDS))
def test_a_spoilt_file_is_measured_or_refused_in_one_clear_line(kind: str, tmp_path: Path) -> None:
    counts: Counter[str] = Counter()
    for seed in range(SEED, SEED + FEWER.get(kind, SHARE)):
        outcome, said = kinds.one(kind, seed, tmp_path)
        assert outcome in outcomes.FINE, f"{kind} {seed}: {outcome}: {said}"
        counts[outcome] += 1
    assert counts["refused"] > 0
    assert len(counts) > 1 or kind == "long case"


@settings(
    max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(strategies.files())
def test_any_table_is_measured_or_refused(tmp_path: Path, text: str) -> None:
    path = tmp_path / "file.csv"
    path.write_text(text)
    outcome, said = outcomes.of_measurement(path, tmp_path)
    assert outcome in outcomes.FINE, f"{outcome}: {said}\n{text}"


def test_the_same_seed_gives_the_same_file() -> None:
    for kind in mutations.SEEDS:
        assert mutations.mutated(kind, 3) == mutations.mutated(kind, 3)
    for kind in kinds.KINDS.values():
        assert kind.make(3) == kind.make(3)


def test_files_that_are_not_spoilt_are_measured(tmp_path: Path) -> None:
    for kind, text in mutations.SEEDS.items():
        path = tmp_path / f"{kind}.csv"
        path.write_text(text)
        outcome, said = outcomes.of_measurement(path, tmp_path)
        assert outcome == ("read" if kind == "runs" else "measured"), f"{kind}: {said}"


def test_a_hang_a_traceback_and_a_warning_are_told_apart(monkeypatch: pytest.MonkeyPatch) -> None:
    import time
    import warnings

    monkeypatch.setattr(outcomes, "LONGEST", 0.2)

    def busy() -> str:  # what waits for a crowded machine is no hang: the processor's time counts
        until = time.process_time() + 2.0
        while time.process_time() < until:
            pass
        return "late"

    assert outcomes.judged(busy)[0] == "hang"
    assert outcomes.judged(lambda: str(time.sleep(0.5)))[0] != "hang"
    assert outcomes.judged(lambda: str(1 / 0))[0] == "traceback"
    assert outcomes.judged(lambda: str(warnings.warn("poor fit", stacklevel=1)))[0] == "warning"
    said = outcomes.judged(lambda: "read" if os.write(2, b"illegal value") else "")
    assert said == ("warning", "on the screen: illegal value")
    log = logging.getLogger("library")
    assert outcomes.judged(lambda: str(log.warning("odd") or "read"))[0] == "warning"


def test_the_long_run_takes_as_many_of_each_group_as_it_says() -> None:
    for group, files in kinds.LONG.items():
        assert sum(kinds.shares(group, files).values()) == files


@pytest.mark.skipif(not hasattr(os, "fork"), reason="limits of this system")
def test_files_that_crash_or_hang_a_process_are_counted_and_the_others_go_on(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    (tmp_path / "kinds.py").write_text(BAD_KINDS)
    monkeypatch.setenv("PYTHONPATH", f"{tmp_path}{os.pathsep}{os.environ.get('PYTHONPATH', '')}")
    monkeypatch.syspath_prepend(str(tmp_path))
    monkeypatch.setattr(workers, "STUCK", 3.0)
    seen = list(workers.run([("any", 0, 4), ("any", 4, 2)], 2))
    assert {s.seed: s.outcome for s in seen} == {
        0: "read", 1: "crash", 2: "read", 3: "stuck", 4: "read", 5: "read"
    }  # fmt: skip


BAD_KINDS = """
import os, signal

def one(kind, seed, folder):
    if seed == 1:
        os.kill(os.getpid(), signal.SIGSEGV)
    if seed == 3:
        signal.pause()
    return "read", ""
"""


@pytest.mark.parametrize("name", [*large.FILES, *large_meshes.REFUSED])
def test_a_file_of_up_to_10_mb_is_refused_in_clear_lines(name: str, tmp_path: Path) -> None:
    lines, size, taken = large.refused(name, tmp_path)
    assert lines
    assert size < 10_100_000
    assert taken < SLOW * slower() * large.LONGEST
    assert all(line.isprintable() and len(line) < outcomes.LONGEST_LINE for line in lines)


@pytest.mark.parametrize(
    ("kind", "seed"), [("clip", 100216), ("obj", 100038), ("outline", 100036), ("stl", 100134)]
)
def test_what_the_long_run_once_found_is_refused(kind: str, seed: int, tmp_path: Path) -> None:
    """A clip that states milliards of frames, a folded mesh, a thicket, a library's warning."""
    outcome, said = kinds.one(kind, seed, tmp_path)
    assert outcome == "refused", said
