"""Hypothesis strategies of measurement files: any table of any layout, mostly possible."""

from __future__ import annotations

from hypothesis import strategies as st

from simsoft.aquarium.columns import POSSIBLE

COLUMNS = {
    "track": ("t_s", "x_mm", "y_mm", "xb_mm", "yb_mm", "conf", "speed_mps"),
    "ringdown": ("t_s", "x_mm"),
    "droop": ("L_mm", "droop_mm", "t_mm"),
    "weigh": ("mass_g", "mass_sub_g", "water_C"),
    "sink": ("run_id", "depth_mm", "t_s", "temp_C", "attitude_deg"),
    "cast": ("cast_id", "distance_m", "wind_mps", "wind_dir_deg"),
    "beats": ("run_id", "t_start_s", "t_end_s", "n_beats", "distance_mm"),
    "results": ("run_id", "quantity", "value", "u_68", "unit", "n"),
}
QUANTITIES = ("stroke", "flap_frequency", "youngs_modulus", "start_speed", "else")
TEXTS = {
    "run_id": ("a", "b"),
    "cast_id": ("1", "2"),
    "unit": ("mm", "Hz", "kPa", "m/s", ""),
    "quantity": QUANTITIES,
}
HEADERS = {"ringdown": "# t_mm = 3, L_mm = 30\n", "track": "# view = below\n"}


def cells(name: str) -> st.SearchStrategy[str]:
    """Return the strategy of one cell of a column."""
    if name in TEXTS:
        return st.sampled_from(TEXTS[name])
    span = POSSIBLE.get(name, POSSIBLE["x_mm"])
    possible = st.floats(span.low, span.high)
    near = st.floats(max(span.low, -50.0), min(span.high, 50.0))
    few = st.integers(int(max(span.low, -3)), int(min(span.high, 60)))
    return st.one_of(near, few, near, possible, st.just("")).map(str)


@st.composite
def files(draw: st.DrawFn) -> str:
    """Draw the text of a measurement file."""
    kind = draw(st.sampled_from(sorted(COLUMNS)))
    names = COLUMNS[kind]
    count = draw(st.integers(1, 40))
    rows = []
    for number in range(count):
        row = [draw(cells(name)) for name in names]
        if names[0] == "t_s":  # most tracks have rising times
            row[0] = f"{number / 30.0:.4f}" if draw(st.integers(0, 30)) else row[0]
        rows.append(",".join(row))
    return HEADERS.get(kind, "") + ",".join(names) + "\n" + "\n".join(rows) + "\n"
