"""Runs and readers that the tests of the page share."""

import dataclasses
from html.parser import HTMLParser

import numpy as np

from simsoft.case.model import BodyInput, HookInput, RigInput, Taper
from simsoft.case.wishes import Clause
from simsoft.results.hdf5 import write_run
from simsoft.results.hdf5_reader import read_run
from simsoft.results.result import Closest

SHEDDING = ("parts.tail.loads.rim_force=4", "parts.tail.loads.shedding=true")
HOSTILE = (
    "</script><script>window.broken=1</script>",
    '<img src=x onerror="window.broken=1">',
    "\"' onclick='window.broken=1' x='",
    "]]><!-- --><svg/onload=window.broken=1>",
    "a\u202eb\u0007c\nd",
)
BRIEF = (
    Clause("start speed", "start_speed", "m/s", at_most=0.4),
    Clause("rate at 0.5 m/s", "flap_frequency", "Hz", at_least=4.0, at_most=9.0, speed=0.5),
    Clause("stroke", "stroke", "m", at_least=0.02),
)


def whole_lure(result):
    """Return a synthetic run with a body, a hook, a brief and a closest call."""
    body = BodyInput(
        "worm",
        0.04,
        Taper((0.0, 0.5, 1.0), (0.006, 0.012, 0.008)),
        Taper((0.0, 1.0), (0.006, 0.01)),
    )
    hook = HookInput(0.001, ((0.0, 0.0, 0.0), (0.03, 0.0, -0.003), (0.03, 0.0, 0.01)))
    case = dataclasses.replace(result.case, body=body, rig=RigInput(hook), brief=BRIEF)
    shape = result.shapes[-1]
    closest = Closest(
        "stream", "tail", "rest", 0.5, 0.0031, "bend", "clear",
        shape.centreline + shape.root, shape.edges + shape.root, shape.paddle + shape.root,
        shape.centreline[0] + shape.root, np.array([0.03, 0.0, 0.01]),
    )  # fmt: skip
    return dataclasses.replace(result, case=case, closest=(closest,))


def renamed(result, name):
    """Return a run whose title, scenario and part carry a name."""
    case = dataclasses.replace(
        result.case,
        title=name,
        text=f"# {name}\n",
        parts=(dataclasses.replace(result.case.parts[0], name=name), *result.case.parts[1:]),
        scenarios=tuple(dataclasses.replace(s, name=name) for s in result.case.scenarios),
    )

    def own(item):
        part = name if item.part == "tail" else item.part
        return dataclasses.replace(item, scenario=name, part=part)

    return dataclasses.replace(
        result,
        case=case,
        records=tuple(map(own, result.records)),
        shapes=tuple(map(own, result.shapes)),
        traces=tuple(map(own, result.traces)),
        warnings=(f"{name}: {name}",),
    )


def stored(result, folder):
    """Return a run as it comes back from its results file."""
    return read_run(write_run(result, folder / "results.h5"))


VOID = {"meta", "line", "path", "polyline", "polygon", "rect", "circle", "input", "br"}


class Page(HTMLParser):
    """The elements of a page in order: name, attributes, text inside."""

    def __init__(self, text):
        super().__init__(convert_charrefs=True)
        self.elements = []
        self.open = []
        self.feed(text)
        assert not self.open

    def handle_starttag(self, tag, attrs):
        self.elements.append([tag, dict(attrs), ""])
        if tag not in VOID:
            self.open.append(self.elements[-1])

    def handle_startendtag(self, tag, attrs):
        self.elements.append([tag, dict(attrs), ""])

    def handle_endtag(self, tag):
        if tag in VOID:
            return
        assert self.open.pop()[0] == tag

    def handle_data(self, data):
        for element in self.open:
            element[2] += data

    def all(self, tag, **attributes):
        """Return the elements of a name with the attributes asked for."""
        return [
            e
            for e in self.elements
            if e[0] == tag and all(e[1].get(k.rstrip("_")) == v for k, v in attributes.items())
        ]

    def text(self, tag, **attributes):
        """Return the text of the only element of that kind."""
        (element,) = self.all(tag, **attributes)
        return element[2]
