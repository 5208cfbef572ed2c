"""Pictures of a cast: the paths through the air, and reach against wind by attitude."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from simsoft.report.figures.canvas import (
    BLUE,
    GREY,
    INK,
    ORANGE,
    TEAL,
    new_figure,
    plain_axes,
    shared_legend,
)
from simsoft.report.text.cast import ATTITUDE_WORDS, far, wind_words
from simsoft.report.units import FAR, LengthUnit, user_unit
from simsoft.results.record import Record, select
from simsoft.results.result import Flight, RunResult

COLOURS = {"end-on": BLUE, "broadside": ORANGE, "tumbling": TEAL}
DASHES = ("-", (0, (5, 2)), (0, (1.5, 1.5)), (0, (6, 2, 1.5, 2)), (0, (8, 2, 1, 2, 1, 2)))


def cast_picture(result: RunResult, scenario: str) -> Figure:
    """Draw paths and reach of one cast.

    Parameters
    ----------
    result : RunResult
    scenario : str, name of the cast
    """
    records = [r for r in result.records if r.scenario == scenario and not r.part]
    flights = [f for f in result.flights if f.scenario == scenario]
    attitude = str(select(records, "flight_attitude")[0].value)
    reach = [r for r in select(records, "cast_distance") if "attitude" not in r.at]
    unit = result.case.length_unit
    calm = far(reach[0], unit)
    title = f"{result.case.title}\n{scenario}: {calm} {wind_words(reach[0], unit)}, "
    figure = new_figure(8.0, 7.6, f"{title}{ATTITUDE_WORDS[attitude]}")
    above, below = figure.subplots(2, 1, gridspec_kw={"height_ratios": (1.0, 1.3)})
    _paths(above, flights, unit)
    _reach(below, records, reach, attitude, unit)
    shared_legend(figure, below)
    return figure


def _paths(axes: Axes, flights: Sequence[Flight], unit: LengthUnit) -> None:
    """Draw height against distance in every wind."""
    factor, name = user_unit("m", unit, FAR)
    for number, flight in enumerate(flights):
        line = factor * flight.path
        at = Record("", "", "", 0.0, None, None, "", "", {"wind": flight.wind,
                    "wind_from": flight.wind_from})  # fmt: skip
        axes.plot(
            line[:, 0], line[:, 2], color=COLOURS[flight.attitude], linewidth=1.6,
            linestyle=DASHES[number % len(DASHES)], label=wind_words(at, unit),
            alpha=1.0 if number < len(DASHES) else 0.5,
        )  # fmt: skip
    axes.axhline(0.0, color=GREY, linewidth=1.0)
    axes.set(xlabel=f"distance [{name}]", ylabel=f"height above the water [{name}]")
    axes.set_aspect("equal")
    axes.set_title("Path in the expected attitude", fontsize=9, loc="left")
    axes.legend(fontsize=8, frameon=False, loc="upper left", bbox_to_anchor=(1.0, 1.0))
    plain_axes(axes)


def _reach(
    axes: Axes,
    records: Sequence[Record],
    reach: Sequence[Record],
    expected: str,
    unit: LengthUnit,
) -> None:
    """Draw reach with its band in every wind, one column an attitude."""
    factor, unit_name = user_unit("m", unit, FAR)
    place = np.arange(len(reach), dtype=float)
    for number, (attitude, word) in enumerate(ATTITUDE_WORDS.items()):
        column = [select(records, "cast_distance", **r.at, attitude=attitude)[0] for r in reach]
        x = place + 0.22 * (number - 1)
        value = np.array([float(r.value) for r in column])  # type: ignore[arg-type]
        low, high = (
            np.array(
                [v if not isinstance(e, float) else e for v, e in zip(value, ends, strict=True)]
            )
            for ends in ([r.low for r in column], [r.high for r in column])
        )
        colour = COLOURS[attitude]
        axes.vlines(x, factor * low, factor * high, color=colour, alpha=0.35, linewidth=6.0)
        mark = "o" if attitude == expected else "_"
        label = f"{word}, expected" if attitude == expected else f"if it flew {word}"
        axes.plot(
            x, factor * value, mark, color=colour, markersize=8, markeredgewidth=2, label=label
        )
    names = [wind_words(r, unit).replace("m/s ", "m/s\n").replace("mph ", "mph\n") for r in reach]
    axes.set_xticks(place, names, fontsize=9)
    axes.axhline(0.0, color=INK, linewidth=0.8)
    axes.set_ylabel(f"reach [{unit_name}], bars: band")
    axes.set_ylim(bottom=min(0.0, axes.get_ylim()[0]))
    axes.set_title("Reach against wind", fontsize=9, loc="left")
    plain_axes(axes)


def cast_figures(result: RunResult) -> list[tuple[tuple[str, ...], Figure]]:
    """Return the words of a file name and the figure of every cast."""
    names = dict.fromkeys(r.scenario for r in select(result.records, "flight_attitude"))
    return [(("cast", name), cast_picture(result, name)) for name in names]
