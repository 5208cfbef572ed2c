"""The command line run in this process."""

import signal

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
