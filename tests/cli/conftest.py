"""The command line run in this process."""

import signal
import sys
import types

import pytest

from simsoft.cli import main as cli


@pytest.fixture
def command(capsys):
    """Run the command line in this process; return status, stdout, stderr."""

    def call(*words):
        with pytest.raises(SystemExit) as caught:
            cli.main([str(word) for word in words])
        streams = capsys.readouterr()
        return caught.value.code, streams.out, streams.err

    kept = signal.getsignal(signal.SIGTERM)
    yield call
    signal.signal(signal.SIGTERM, kept)


@pytest.fixture
def stand_in(monkeypatch, synthetic_result):
    """Replace reading and solving, so that these tests are about the command line alone."""
    state = types.SimpleNamespace(result=synthetic_result, calls=[], failure=None)

    def load(path, overrides=()):
        state.calls.append((path, tuple(overrides)))
        return state.result.case

    def run(case, progress=None):
        if state.failure is not None:
            raise state.failure
        return state.result

    monkeypatch.setitem(sys.modules, "simsoft.case.read", types.SimpleNamespace(load=load))
    monkeypatch.setitem(sys.modules, "simsoft.engine.run", types.SimpleNamespace(run=run))
    ready = types.SimpleNamespace(missing_for=lambda *_, **__: [])  # whatever is compiled here
    monkeypatch.setitem(sys.modules, "simsoft.engine.kernels", ready)
    return state
