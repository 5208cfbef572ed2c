"""Case files of every kind of part, and seeded ways to spoil them."""

from __future__ import annotations

import random

from mutations import INVISIBLE, ODD_NUMBERS

from simsoft.case.starter import KINDS as PARTS
from simsoft.case.starter import starter

KINDS = ("case", "long case")
WORDS = ("mm", "degC", "OO", "[parts]", "[[parts]]", "= ", '"', "'''", "{", "[", "true", "#", "\n")
LONG = 100_000  # characters of a long case


def spoilt(rng: random.Random, text: str) -> str:
    """Return a text in TOML with one line changed, dropped, doubled or moved."""
    lines = text.split("\n")
    place = rng.randrange(len(lines))
    line = lines[place]
    how = rng.randrange(9)
    if how == 0:
        del lines[place]
    elif how == 1:
        lines[place:place] = [line] * rng.choice((1, 3, 200))
    elif how == 2:
        spot = rng.randrange(len(line) + 1)
        lines[place] = line[:spot] + rng.choice(INVISIBLE) + line[spot:]
    elif how == 3:
        spot = rng.randrange(len(line) + 1)
        lines[place] = line[:spot] + rng.choice(WORDS) + line[spot:]
    elif how in (4, 5) and "=" in line:
        number = rng.choice(ODD_NUMBERS)
        unit = rng.choice(("mm", "m/s", "degC", "kPa", "", "OO", "kg/m^3", "deg"))
        lines[place] = line.split("=")[0] + f'= "{number} {unit}"'
    elif how == 6 and "=" in line:
        lines[place] = line.split("=")[0] + "= " + rng.choice(("[]", "{}", "0", "-1e300", "true"))
    elif how == 7 and "=" in line:
        lines[place] = rng.choice("abcx_") * rng.choice((1, 9, 90)) + line
    else:
        other = rng.randrange(len(lines))
        lines[place], lines[other] = lines[other], line
    return "\n".join(lines)


def mutated(kind: str, seed: int) -> bytes:
    """Return the bytes of a spoilt case; the same for the same kind and seed."""
    rng = random.Random(f"{kind}/{seed}")
    text = starter(rng.choice(list(PARTS)))
    for _ in range(rng.choice((1, 1, 2, 3, 6))):
        text = spoilt(rng, text)
    if kind == "long case":
        how = rng.randrange(4)
        lines = [line for line in text.split("\n") if "=" in line]
        if how == 0:
            text = "\n".join(
                f"{rng.choice('abc')}{i}_{line}" for i in range(LONG // 40) for line in lines[:1]
            )
        elif how == 1:
            text = "".join(
                f'[[parts]]\nname = "p{i}"\nknd = "strip"\nlenght = "3 mm"\n'
                for i in range(LONG // 60)
            )
        elif how == 2:
            text += "\n[[scenarios]]\n" + "".join(
                f'speed{i} = "{i} m/s"\n' for i in range(LONG // 25)
            )
        else:
            text = text.replace("=", "= " + "[" * rng.choice((1, 40)) + '"1 mm", ' * (LONG // 9), 1)
    return text.encode("utf-8", "surrogatepass")
