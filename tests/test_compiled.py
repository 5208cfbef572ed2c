"""The kernels' cache: a change in any file that holds a kernel asks for compiling."""

import re
from pathlib import Path

import simsoft
from simsoft.compiled import KERNEL_MARKS, KERNEL_PACKAGES

PACKAGE = Path(simsoft.__file__).parent


def test_every_file_with_a_kernel_is_in_the_digest():
    """A file left out would leave stale machine code behind when it changes."""
    holds = [
        path
        for path in PACKAGE.rglob("*.py")
        if re.search(rb"^@\w*kernel\(", path.read_bytes(), flags=re.M)
    ]
    assert len(holds) > 20
    for path in holds:
        assert path.parent.name in KERNEL_PACKAGES
        assert any(mark in path.read_bytes() for mark in KERNEL_MARKS), path.name
