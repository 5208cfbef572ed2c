"""How fast: ``pytest benchmarks``. Ratios are asserted, times only printed beside their targets."""

import pytest
from workloads import (
    TARGETS,
    command,
    import_time,
    lure_run,
    make_flight,
    make_onset,
    make_rest,
    paddle_run,
)

ROUNDS = 5


def best(benchmark):
    """Return the fastest round [s]."""
    return benchmark.stats.stats.min


def beside_target(capsys, name, seconds, unit="s"):
    """Print a figure beside its target."""
    with capsys.disabled():
        print(f"\n{name}: {seconds:.3g} {unit}, target {TARGETS[name]:g} {unit}")


@pytest.fixture(scope="module")
def times():
    """Best times of the marches of this run, by name."""
    return {}


@pytest.mark.parametrize("elements", [16, 40, 80])
def test_march(benchmark, capsys, times, elements):
    """Five seconds of a tail in space; the cost grows with the elements, not their square."""
    benchmark.pedantic(make_flight(elements), rounds=ROUNDS)
    times[elements] = best(benchmark)
    name = f"march {elements}"
    if name in TARGETS:
        beside_target(capsys, name, times[elements])
    if elements == 80:
        assert times[80] < 3.0 * times[40]
        assert times[40] < 3.8 * times[16]


def test_march_without_reactive_force(benchmark):
    """Measured beside the full one; see the report."""
    benchmark.pedantic(make_flight(40, reactive=False), rounds=ROUNDS)


def test_rest(benchmark, times):
    benchmark.pedantic(make_rest(40), rounds=ROUNDS)
    times["rest"] = best(benchmark)


def test_onset(benchmark, capsys, times):
    """Rest shapes and growth over 40 speeds; the rest shapes are the smaller part."""
    benchmark.pedantic(make_onset(40), rounds=3)
    beside_target(capsys, "rest and onset", best(benchmark))
    assert times["rest"] < best(benchmark)


def test_help(benchmark, capsys):
    benchmark.pedantic(command, args=("--help",), rounds=3)
    beside_target(capsys, "help", best(benchmark))


def test_whole_run(benchmark, capsys):
    """The paddle demo with its bands, in a fresh process on a warm cache."""
    paddle_run()
    peaks = []
    benchmark.pedantic(lambda: peaks.append(paddle_run()[1]), rounds=2)
    beside_target(capsys, "run", best(benchmark))
    beside_target(capsys, "memory", max(peaks), "MB")
    assert max(peaks) < TARGETS["memory"]


def test_whole_lure(benchmark, capsys):
    """Three appendages on two cores: fall, three speeds, hook clearance, cast, all with bands."""
    lure_run()
    benchmark.pedantic(lure_run, rounds=2)
    beside_target(capsys, "lure", best(benchmark))


def test_the_package_itself_imports_in_a_fraction_of_its_engine():
    light = min(import_time("simsoft") for _ in range(3))
    heavy = min(import_time("simsoft.engine.run") for _ in range(3))
    assert light < 0.2 * heavy
