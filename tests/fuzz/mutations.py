"""Measurement files of every layout, and seeded ways to spoil them."""

from __future__ import annotations

import math
import random
from collections.abc import Callable

Mutation = Callable[[random.Random, list[str]], list[str]]

ODD_NUMBERS = (
    "0", "-0", "-1", "1e-320", "1e-30", "1e30", "1e307", "-1e307", "1e999", "nan", "inf", "-inf",
    "12345678901234567890", "0.1e-5", "", "-", "1,5", "0x10", "1_000", "٣", "1e", "+7", " 3 ",
)  # fmt: skip
INVISIBLE = "\u200b\u200d\ufeff\u202e\u2066\x7f\x1b\x00\x0b\x0c\x85\u2028\u00ad\ud7ff\U000e0041"
FORMULAS = ("=1+1", "+cmd", "-2+3", "@SUM(A1)", "<b>x</b>", "'quoted", "#note", '"a""b', "a;b\tc")
HEADERS = (
    "# t_mm = 0", "# L_mm = 1e9", "# temp_C = 1000", "# temp_C = -400", "# speed_mps = 1e300",
    "# view = under", "# scale_mm_per_px = 1e-300", "# scale_u_percent = 50", "# u_t_mm = -1",
    "# density_kgm3 = 1e3", "# salinity_gkg = 5000", "# " + "a" * 3000, "# run_id = =1+1",
    "# flags = plane gaps~", "# strip = A\u202eB", "# L_mm = 30, t_mm = 3",
)  # fmt: skip


def _track(rate: float = 120.0, seconds: float = 1.5, beat: float = 5.0) -> str:
    rows = ["# view = below, speed_mps = 0.4, temp_C = 18", "t_s,x_mm,y_mm,xb_mm,yb_mm,conf"]
    for i in range(int(rate * seconds)):
        time = i / rate
        y = 9.0 * math.sin(2.0 * math.pi * beat * time) + 0.1 * math.sin(77.0 * time)
        rows.append(f"{time:.5f},{60 + 0.2 * y:.4f},{y:.4f},{0.01 * i:.3f},0.1,0.95")
    return "\n".join(rows) + "\n"


def _ramp() -> str:
    rows = ["# view = below", "t_s,x_mm,y_mm,speed_mps"]
    for i in range(500):
        time = i / 60.0
        speed = 0.1 + 0.05 * time
        size = 6.0 * math.sqrt(max(0.0, speed - 0.25))
        rows.append(f"{time:.4f},0.1,{size * math.sin(25.0 * time):.4f},{speed:.4f}")
    return "\n".join(rows) + "\n"


def _ringdown() -> str:
    rows = ["# t_mm = 3, L_mm = 30, temp_C = 22, strip = A", "t_s,x_mm"]
    for i in range(240):
        time = i / 240.0
        rows.append(f"{time:.5f},{2.0 * math.exp(-6.0 * time) * math.cos(75.0 * time):.5f}")
    return "\n".join(rows) + "\n"


SEEDS = {
    "track": _track(),
    "short": _track(60.0, 0.5),
    "ramp": _ramp(),
    "ringdown": _ringdown(),
    "droop": "# t_mm = 3, temp_C = 20\nL_mm,droop_mm,t_mm\n40,6.1,3\n50,12.4,3.1\n60,21,2.9\n",
    "weigh": "part_id,mass_g,mass_sub_g,water_C\na,3.21,0.14,19\nb,3.19,0.13,19.5\nc,2,-0.1,\n",
    "sink": "run_id,depth_mm,t_s,temp_C,attitude_deg\n"
    + "".join(
        f"{run},{120 * 0.25 * i - 8 * (1 - math.exp(-3 * i)):.2f},{0.25 * i:.2f},15,{20 - i}\n"
        for run in ("a", "b")
        for i in range(9)
    ),
    "cast": "cast_id,distance_m,wind_mps,wind_dir_deg,lure_g\n1,31,0,0,12\n2,29.5,1,180,12\n"
    "3,30.4,3,20,12\n4,33,3,15,12\n",
    "beats": "run_id,t_start_s,t_end_s,n_beats,distance_mm,view,temp_C\n"
    "a,0,4,21,1600,below,18\nb,0,5,11,1900,side,18\nc,1,6,0,900,below,\n",
    "runs": "run_id,view,speed_mps,temp_C,date,case_id\na,below,0.4,18,2026-05-01,t1\nb,,0.5,,,\n",
    "results": "run_id,quantity,value,u_68,unit,method,n,speed_mps,temp_C,flags,reason\n"
    "a,flap_frequency,5.02,0.03,Hz,sine,12,0.4,18,,\na,stroke,18.2,0.6,mm,sine,12,0.4,18,view,\n"
    "b,start_speed,,,m/s,ramp,40,,18,,no start\nc,youngs_modulus,140,12,kPa,bent,3,,20,gaps~,\n",
}  # fmt: skip


def _cells(line: str) -> list[str]:
    return line.split(",")


def _rows(lines: list[str]) -> list[int]:
    """Return the numbers of the lines that hold numbers."""
    return [i for i, line in enumerate(lines) if line and not line.startswith("#")][1:]


def _in_a_cell(change: Callable[[random.Random, str], str]) -> Mutation:
    def mutation(rng: random.Random, lines: list[str]) -> list[str]:
        rows = _rows(lines)
        for row in rng.sample(rows, min(len(rows), rng.choice((1, 1, 3, 20)))):
            cells = _cells(lines[row])
            place = rng.randrange(len(cells))
            cells[place] = change(rng, cells[place])
            lines[row] = ",".join(cells)
        return lines

    return mutation


def _whole_column(rng: random.Random, lines: list[str]) -> list[str]:
    """Scale, shift, freeze or replace one column."""
    rows = _rows(lines)
    if not rows:
        return lines
    place = rng.randrange(len(_cells(lines[rows[0]])))
    how = rng.choice(("scale", "shift", "freeze", "odd", "random", "square", "few"))
    size = 10.0 ** rng.uniform(-12, 12) * rng.choice((1, 1, 1, -1))
    same = rng.choice(ODD_NUMBERS)
    for row in rows:
        cells = _cells(lines[row])
        if place >= len(cells):
            continue
        try:
            value = float(cells[place])
        except ValueError:
            continue
        if not abs(value) < 1e300:
            continue
        cells[place] = {
            "scale": lambda v: f"{v * size:.9g}",
            "shift": lambda v: f"{v + size:.9g}",
            "freeze": lambda _: "1.5",
            "odd": lambda _: same,
            "random": lambda _: f"{rng.gauss(0.0, abs(size)):.6g}",
            "square": lambda v: f"{abs(v) * v:.6g}",
            "few": lambda v: f"{round(v)}",
        }[how](value)
        lines[row] = ",".join(cells)
    return lines


def _lines(rng: random.Random, lines: list[str]) -> list[str]:
    """Drop, repeat, shuffle or cut lines."""
    how = rng.choice(("drop", "repeat", "shuffle", "cut", "reverse", "thin", "names", "empty"))
    rows = _rows(lines)
    if how == "drop" and lines:
        del lines[rng.randrange(len(lines))]
    elif how == "repeat" and lines:
        place = rng.randrange(len(lines))
        lines[place:place] = [lines[place]] * rng.choice((1, 2, 400))
    elif how == "shuffle":
        rng.shuffle(lines)
    elif how == "cut":
        lines = lines[: rng.randrange(len(lines) + 1)]
    elif how == "reverse":
        for row, line in zip(rows, [lines[r] for r in reversed(rows)], strict=True):
            lines[row] = line
    elif how == "thin" and rows:
        kept = set(rng.sample(rows, min(len(rows), rng.choice((1, 2, 5, 9, 13, 30)))))
        lines = [line for i, line in enumerate(lines) if i not in set(rows) - kept]
    elif how == "names" and lines:
        place = next((i for i, line in enumerate(lines) if not line.startswith("#")), 0)
        cells = _cells(lines[place])
        rng.shuffle(cells)
        lines[place] = ",".join(cells)
    elif how == "empty":
        lines.insert(rng.randrange(len(lines) + 1), rng.choice(("", ",,,", "   ", "#")))
    return lines


def _unit(rng: random.Random, lines: list[str]) -> list[str]:
    """Give one column another unit or another name."""
    place = next((i for i, line in enumerate(lines) if line and not line.startswith("#")), None)
    if place is not None:
        cells = _cells(lines[place])
        which = rng.randrange(len(cells))
        stem = cells[which].rpartition("_")[0] or cells[which]
        cells[which] = rng.choice(
            (f"{stem}_m", f"{stem}_us", f"{stem}_px", f"{stem}_kg", f"{stem}_in", stem, "",
             cells[which].upper(), "t_s", "x_mm", "quantity", "speed_mps", "a" * 500)
        )  # fmt: skip
        lines[place] = ",".join(cells)
    return lines


def _header(rng: random.Random, lines: list[str]) -> list[str]:
    lines.insert(0, rng.choice(HEADERS))
    return lines


def _spike(rng: random.Random, text: str) -> str:
    place = rng.randrange(len(text) + 1)
    return text[:place] + rng.choice(INVISIBLE) + text[place:]


def _digit(rng: random.Random, text: str) -> str:
    place = rng.randrange(len(text) + 1)
    return text[:place] + rng.choice("0123456789.-eE+") + text[place + 1 :]


MUTATIONS: tuple[Mutation, ...] = (
    _in_a_cell(lambda rng, _: rng.choice(ODD_NUMBERS)),
    _in_a_cell(_digit),
    _in_a_cell(_spike),
    _in_a_cell(lambda rng, _: rng.choice(FORMULAS)),
    _in_a_cell(lambda rng, _: f"{10.0 ** rng.uniform(-300, 300):.5g}"),
    _in_a_cell(lambda rng, _: rng.choice("abc\u00e9") * rng.choice((1, 50, 5000))),
    _whole_column,
    _whole_column,
    _lines,
    _lines,
    _unit,
    _header,
)


def _gentle(rng: random.Random, lines: list[str]) -> list[str]:
    """Change one column or some rows so that most of the file stays possible."""
    rows = _rows(lines)
    if not rows:
        return lines
    place = rng.randrange(len(_cells(lines[rows[0]])))
    how = rng.choice(("scale", "noise", "freeze", "gaps", "few", "rising", "step", "jump", "swap"))
    size = 10.0 ** rng.uniform(-4, 3)
    for number, row in enumerate(rows):
        cells = _cells(lines[row])
        if place >= len(cells):
            continue
        try:
            value = float(cells[place])
        except ValueError:
            continue
        if not abs(value) < 1e300:
            continue
        if how == "gaps":
            cells[place] = "" if rng.random() < 0.6 else cells[place]
        elif how == "swap":
            cells[place], cells[0] = cells[0], cells[place]
        else:
            cells[place] = f"""{
                {
                    "scale": value * size,
                    "noise": value + rng.gauss(0.0, size),
                    "freeze": 2.0,
                    "few": float(round(value)),
                    "rising": value + size * number,
                    "step": value + (size if number > len(rows) // 2 else 0.0),
                    "jump": value + (1e3 * size if number == len(rows) // 3 else 0.0),
                }[how]:.9g}"""
        lines[row] = ",".join(cells)
    return lines


GENTLE: tuple[Mutation, ...] = (_gentle, _gentle, _gentle, _lines, _unit)


def mutated(kind: str, seed: int) -> bytes:
    """Return the bytes of a spoilt file; the same for the same kind and seed."""
    rng = random.Random(f"{kind}/{seed}")
    lines = SEEDS[kind].split("\n")
    chosen = rng.choice((MUTATIONS, GENTLE))
    for _ in range(rng.choice((1, 1, 2, 2, 3, 5))):
        lines = rng.choice(chosen)(rng, lines)
    data = "\n".join(lines).encode("utf-8", "surrogatepass")
    how = rng.randrange(40)
    if how == 0 and data:
        place = rng.randrange(len(data))
        data = data[:place] + bytes([rng.randrange(256)]) + data[place + 1 :]
    elif how == 1:
        data = data.replace(b",", rng.choice((b";", b"\t")))
    elif how == 2:
        data = data.decode("utf-8", "replace").encode(rng.choice(("utf-16", "latin-1")), "replace")
    elif how == 3:
        data = data[: rng.randrange(len(data) + 1)]
    return data
