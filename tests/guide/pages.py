"""The README and the pages of the guide, taken apart: blocks, sentences, links, what is made."""

import re
import shlex
from pathlib import Path
from typing import NamedTuple

import simsoft

ROOT = Path(__file__).parents[2]
GUIDE = Path(simsoft.__file__).parent / "guide"
README = ROOT / "README.md"
PAGES = [README, *sorted(GUIDE.glob("*.md"))]
MADE = re.compile(r"<!-- made: (?P<what>.+?) -->\n(?P<body>.*?)<!-- end -->", re.DOTALL)
_FENCE = re.compile(r"^```(\w*)\n(.*?)^```$", re.DOTALL | re.MULTILINE)
_LINK = re.compile(r"\[[^\]]*\]\(([^)]+)\)")
_END = re.compile(r"(?<=[.!?])[)*\"]*\s+")


class Block(NamedTuple):
    """A fenced block: page, language, text."""

    page: str
    language: str
    text: str


def blocks(path, *languages):
    """Return the fenced blocks of a page in some languages, in order."""
    found = _FENCE.findall(path.read_text(encoding="utf-8"))
    return [Block(path.stem, name, text) for name, text in found if name in languages]


def commands(path):
    """Return each command of a page's shell blocks as its words, comments left out."""
    lines = [line for b in blocks(path, "sh") for line in b.text.replace("\\\n", " ").splitlines()]
    words = [shlex.split(line, comments=True) for line in lines]
    return [found for found in words if found]


def links(path):
    """Return the files that a page points to."""
    text = _FENCE.sub("", path.read_text(encoding="utf-8"))
    return [link.partition("#")[0] for link in _LINK.findall(text) if "://" not in link]


def sentences(path):
    """Return the sentences of a page: of paragraphs, list items and cells; not of what is made."""
    text = _FENCE.sub("\n\n", MADE.sub("", path.read_text(encoding="utf-8")))
    text = re.sub(r"^(#.*|\s*[-*] |\s*\d+\. )", r"\n\n\1", text, flags=re.MULTILINE)
    text = re.sub(r"^\|.*\|$", _cells, text, flags=re.MULTILINE)
    pieces = [" ".join(piece.split()) for piece in re.split(r"\n\s*\n", text)]
    return [s for piece in pieces for s in _END.split(piece) if s and not s.startswith("#")]


def _cells(row):
    return "\n\n" + "\n\n".join(row[0].strip("|").split("|")) + "\n\n"
