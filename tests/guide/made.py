"""What of the pages is made: tables of keys, real answers, the error of the paddle model."""

import re
import subprocess
import sys

from simsoft.case.keys import WRITTEN, all_keys, allowed
from simsoft.core.quantities import QUANTITIES, answered_by
from simsoft.core.quantities import words as spoken
from simsoft.engine.uncertainty import MODEL_ERROR, SOFT_ERROR

from .pages import MADE, ROOT

SLOW = "answer"  # a block that takes a run


def made(what):
    """Return the body of a made block, such as ``keys water`` or ``answer CASE WORD``."""
    maker, *words = what.split()
    return _MAKERS[maker](*words)


def renewed(text, slow):
    """Return the text of a page with its made blocks made again, runs only where ``slow``."""

    def replaced(found):
        what = found["what"]
        if what.startswith(SLOW) and not slow:
            return found[0]
        return f"<!-- made: {what} -->\n{made(what)}<!-- end -->"

    return MADE.sub(replaced, text)


def _table(*rows):
    return "".join(f"| {' | '.join(cells)} |\n" for cells in rows)


def _keys(table):
    """Return the keys directly below a table; ``-`` names the top of a case."""
    path = "" if table == "-" else f"{table}."
    below = [
        k
        for k in all_keys()
        if k.path.startswith(path) and "." not in k.path[len(path) :]
        and (k.form not in ("table", "list") or not path)
    ]  # fmt: skip
    rows = [("key", "meaning", "allowed", "default"), ("---",) * 4]
    for key in below:
        name = key.path[len(path) :] if key.form not in ("table", "list") else key.example
        range_ = allowed(key) or WRITTEN[key.form]
        star = " \\*" if key.needed else ""
        default = f"`{key.default}`" if key.default else ""
        rows.append((f"`{name}`{star}", key.meaning, range_, default))
    return _table(*rows)


def _answer(case, word):
    """Return the paragraph of a run's answer that begins with a word."""
    program = [sys.executable, "-m", "simsoft", "run", case, "--quiet"]
    done = subprocess.run(program, cwd=ROOT, capture_output=True, text=True, check=True)
    found = [p for p in done.stdout.split("\n\n") if p.startswith(word)]
    return f"```text\n{found[0].rstrip()}\n```\n"


def _paddle(_):
    rows = [
        (spoken(q), *(f"{end:g}" for errors in (MODEL_ERROR, SOFT_ERROR) for end in errors[q]))
        for q in MODEL_ERROR
    ]
    head = ("number", "held at its stem: low", "high", "on a soft body: low", "high")
    return _table(head, ("---",) * 5, *rows)


def _quantities(question):
    """Return the quantities that a question answers, as records and briefs name them."""
    rows = [("name", "meaning", "unit"), ("---",) * 3]
    for name in answered_by(question):
        row = QUANTITIES[name]
        rows.append((f"`{name}`" + " \\*" * row.wished, row.meaning, row.unit or "-"))
    return _table(*rows)


_MAKERS = {"keys": _keys, "answer": _answer, "paddle": _paddle, "quantities": _quantities}


def words(text):
    """Return the words of an answer without its digits, as numbers may be refreshed."""
    return set(re.findall(r"[a-z][a-z-]+", text.lower()))
