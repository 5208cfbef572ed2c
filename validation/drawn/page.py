"""The tables of ``validation/MESH.md`` from the kept rows; ``python validation/drawn/page.py``.

The prose stands in ``page.md``.
"""

from __future__ import annotations

import csv
from collections.abc import Iterable, Sequence
from pathlib import Path

HERE = Path(__file__).parent
PAGE = HERE.parent / "MESH.md"
UNITS = {"volume": "%", "paddle_area": "%", "case_volume": "%", "angle": "deg"}
ALLOWED = {
    "volume": "0.1", "case_volume": "1", "length": "0.1", "body_length": "", "stem_length": "0.2",
    "stem_thickness": "0.03", "stem_width": "", "paddle_area": "1", "paddle_thickness": "",
    "angle": "2", "offset": "0.1", "outline": "0.15", "part_length": "", "part_width": "",
    "part_thickness": "0.03", "neck_width": "", "neck_thickness": "0.03",
}  # fmt: skip
RATES = ("natural_frequency", "start_speed", "start_frequency", "flap_frequency")
Rows = list[dict[str, str]]


def rows(name: str) -> Rows:
    """Return the rows of a table of this folder."""
    with (HERE / name).open(encoding="utf-8") as file:
        return list(csv.DictReader(file))


def table(head: Sequence[str], body: Iterable[Sequence[object]]) -> str:
    """Return a table in Markdown."""
    lines = [head, ["---", *["--:"] * (len(head) - 1)], *body]
    return "\n".join(f"| {' | '.join(map(str, line))} |" for line in lines)


def sizes_table(found: Rows) -> str:
    """Return the worst and the usual error of every size."""
    body = []
    for size, allowed in ALLOWED.items():
        mine = sorted((r for r in found if r["size"] == size), key=lambda r: abs(float(r["error"])))
        unit = UNITS.get(size, "mm")
        scale = 100.0 if unit == "%" else 1.0
        middle, worst = mine[len(mine) // 2], mine[-1]
        shown = [f"{scale * abs(float(r['error'])):.2g} {unit}" for r in (middle, worst)]
        body.append([size.replace("_", " "), len(mine), shown[0], shown[1],
                     f"{worst['bait']}, {worst['damage'].replace('_', ' ')}",
                     f"{allowed} {unit}" if allowed else ""])  # fmt: skip
    return table(("size", "readings", "middle one", "worst", "of", "asked for"), body)


def beat_table(found: Rows) -> str:
    """Return for every bait how far start and rates of both cases lie apart."""
    body = []
    for bait in dict.fromkeys(r["bait"] for r in found):
        mine = [r for r in found if r["bait"] == bait]
        cells: list[str] = [bait, mine[0]["kind"]]
        for quantity in RATES:
            shares = [abs(float(r["share"])) for r in mine
                      if r["quantity"] == quantity and r["share"]]  # fmt: skip
            unsettled = any(r["march"] for r in mine if r["quantity"] == quantity)
            cells.append(f"{100 * max(shares):.2f}{' *' * unsettled}" if shares else "none")
        words = [r for r in mine if r["quantity"] == "verdict"]
        alike = all(r["true"] == r["read"] for r in words)
        rates = [r["true"] for r in mine if r["quantity"] == "flap_frequency" and r["true"]]
        cells += [", ".join(f"{float(rate):.3g}" for rate in rates) or "still",
                  "the same" if alike else "differ"]  # fmt: skip
        body.append(cells)
    head = ("bait", "kind", "still water [%]", "start speed [%]", "rate at start [%]",
            "rate [%]", "rates [Hz]", "words")  # fmt: skip
    return table(head, body)


def plates_table(found: Rows) -> str:
    """Return the first frequency against the count of elements, of both meshers."""
    body = []
    counts = list(dict.fromkeys(r["asked"] for r in found))
    for outline in dict.fromkeys(r["outline"] for r in found):
        for mesher in ("own", "other"):
            mine = [r for r in found if (r["outline"], r["mesher"]) == (outline, mesher)]
            known = {r["asked"]: f"{float(r['f1']):.4f}" for r in mine}
            cells = [known.get(asked, "none") for asked in counts]
            worst = min(float(r["worst"]) for r in mine)
            seconds = float(mine[-1]["seconds"])
            body.append([f"{outline}, {mesher}", *cells, f"{worst:.2f}", f"{seconds:.2f}"])
    return table(("outline, mesher", *counts, "worst corner", "seconds"), body)


def apart(found: Rows) -> str:
    """Return how far the three frequencies of both meshers lie apart at most, by count."""
    body = []
    counts = dict.fromkeys(r["asked"] for r in found)
    for asked in counts:
        cells: list[str] = [asked]
        for mode in ("f1", "f2", "f3"):
            gaps = []
            for outline in dict.fromkeys(r["outline"] for r in found):
                pair = {r["mesher"]: float(r[mode]) for r in found
                        if (r["outline"], r["asked"]) == (outline, asked)}  # fmt: skip
                if len(pair) == 2:
                    gaps.append(abs(pair["own"] / pair["other"] - 1.0))
            cells.append(f"{100 * max(gaps):.2f}")
        body.append(cells)
    return table(("elements", "mode 1 [%]", "mode 2 [%]", "mode 3 [%]"), body)


def main() -> None:
    """Write the page."""
    sizes, beat, plates = rows("sizes.csv"), rows("beat.csv"), rows("plates.csv")
    measured = [r for r in beat if r["quantity"] in RATES and not r["march"]]
    frequencies = [abs(float(r["share"])) for r in measured if r["share"]]
    filled = {
        "SIZES": sizes_table(sizes),
        "READINGS": str(len({(r["bait"], r["damage"]) for r in sizes})),
        "BAITS": str(len({r["bait"] for r in beat})),
        "BEAT": beat_table(beat),
        "WORST": f"{100 * max(frequencies):.1f}",
        "PLATES": plates_table(plates),
        "APART": apart(plates),
    }
    text = (HERE / "page.md").read_text(encoding="utf-8")
    for name, content in filled.items():
        text = text.replace(f"<<{name}>>", content)
    PAGE.write_text(text, encoding="utf-8")


if __name__ == "__main__":
    main()
