"""Records of the golden cases: made, kept as text, compared number by number."""

import functools
import json
import math
import os
from pathlib import Path

import llvmlite.binding
import numba
import numpy
import scipy

from simsoft.case.read import load, loads
from simsoft.design.sweep.screening import screening_records
from simsoft.engine.run import run

NUMBERS = Path(__file__).parent / "numbers"
CASES = Path(__file__).parents[2] / "cases"

# On the machine that wrote them, numbers may differ by the rounding of their text alone.
EXACT = 1e-12
# Another processor or library adds and multiplies in another order. A march to a limit cycle
# shrinks such differences again; what a search stops at keeps them within its own tolerance.
OTHER_MACHINE = 1e-6
# Says which of the two holds: "exact" or "near". Without it the machine's own mark decides.
VARIABLE = "SIMSOFT_GOLDEN"
# Left over from cancellation: sums of large terms that should vanish. On another machine their
# size is judged, not their digits.
LEFT_OVER = ("energy_residual", "momentum_residual", "discretisation_error")


def machine():
    """Return what the last digits depend on: processor and numerical libraries."""
    return {
        "processor": llvmlite.binding.get_host_cpu_name(),
        "numpy": numpy.__version__,
        "scipy": scipy.__version__,
        "numba": numba.__version__,
    }


def records_of(text, overrides=(), mode="plain"):
    """Return the records of one golden case as plain data.

    ``text`` is a case's text or the name of a demo case; ``mode`` is 'plain' (no bands), 'bands'
    or 'fast' (screening).
    """
    overrides = list(overrides)
    if text.endswith(".toml"):
        case = load(CASES / text, overrides)
    else:
        case = loads(text, "golden.toml", overrides)
    if mode == "fast":
        records = screening_records(case)
    else:
        records = run(case, bands=mode == "bands").records
    return json.loads(json.dumps([record.as_json() for record in records]))


def path_of(name):
    """Return the file that keeps the numbers of a golden case."""
    return NUMBERS / f"{name}.json"


def write(name, records):
    """Keep the records of a golden case, one a line."""
    lines = ",\n".join(json.dumps(record, ensure_ascii=False) for record in records)
    mark = json.dumps(machine())
    text = f'{{"machine": {mark},\n"records": [\n{lines}\n]}}\n'
    path_of(name).write_text(text, encoding="utf-8")


def read(name):
    """Return the kept records of a golden case and the tolerance that this machine is held to."""
    kept = json.loads(path_of(name).read_text(encoding="utf-8"))
    same = kept["machine"] == machine()
    wanted = os.environ.get(VARIABLE, "exact" if same else "near")
    return kept["records"], {"exact": EXACT, "near": OTHER_MACHINE}[wanted]


def differences(kept, found, tolerance):
    """Return one line for everything that differs by more than a relative ``tolerance``."""
    lines = [] if len(kept) == len(found) else [f"{len(kept)} records kept, {len(found)} found"]
    for old, new in zip(kept, found, strict=False):
        words = functools.partial(_words, old, new)
        if old.keys() != new.keys():
            lines.append(words("keys"))
        lines += [words(key) for key in old if not _same(old, new, key, tolerance)]
    return lines


def _same(old, new, key, tolerance):
    left_over = old["quantity"] in LEFT_OVER and tolerance > EXACT
    absolute = tolerance if left_over else 0.0
    return _close(old[key], new.get(key), tolerance, absolute)


def _close(old, new, relative, absolute):
    if isinstance(old, dict) and isinstance(new, dict):
        keys = old.keys() == new.keys()
        return keys and all(_close(old[k], new[k], relative, absolute) for k in old)
    if isinstance(old, list) and isinstance(new, list):
        # a vector is as exact as its largest entry
        room = max(absolute, relative * max((abs(x) for x in old), default=0.0))
        return len(old) == len(new) and all(map(_close_to(relative, room), old, new))
    if isinstance(old, float) and isinstance(new, float):
        return math.isclose(old, new, rel_tol=relative, abs_tol=absolute)
    return old == new and type(old) is type(new)


def _close_to(relative, absolute):
    return lambda old, new: math.isclose(old, new, rel_tol=relative, abs_tol=absolute)


def _words(old, new, key):
    where = f"{old['scenario']}/{old['part']}/{old['quantity']} {old['at']}"
    return f"{where}: {key} {old.get(key)!r} -> {new.get(key)!r}"
