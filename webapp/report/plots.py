"""One quantity over the exams of one animal as a picture: plain data in, the text of an SVG out.

    plots.drawing(series) -> str        the picture: stands in a page, in print and in the PDF alike
    plots.rows(series)    -> [Row]      the same in words, one row per exam, for the table beside it

`series` is a plain dict; all numbers are decimal text in `unit`, all days "2026-11-24", exams oldest first:

    {"id": "adrenal.left.caudal_pole_thickness", "title": "LEFT adrenal, caudal pole thickness", "unit": "mm",
     "points": [{"date", "value", "n" (None: calculated), "uncertainty" (twice the standard one; None: not known),
                 "readings": ["6.2", "6.4"], "set_aside": ["9.0"] (another plane: not in the mean), "plane",
                 "notes": ["partly seen", "at least"],
                 "limits": [{"use", "judges", "lower", "upper", "words", "known", "source"}]}]}

webapp/review/trends.py makes it of an animal's exams. `use` is the register's: limit, on_indication, alert, criterion,
reference, unverified; `judges` is false where another set goes before it. A limit is drawn over the exams that it holds
for. Nothing is judged or computed here but places on the paper. Every reading has a mark of its own beside the mean.
Classes differ by line pattern and by word, never by colour; what does not fit into the picture's range is named below
it. Only presentation attributes are used, for pages under a strict policy; the same data give the same bytes.
"""

import textwrap
from decimal import Decimal
from typing import Any, NamedTuple
from xml.sax.saxutils import escape, quoteattr

from webapp import dates
from webapp.report import plot_labels, plot_limits, plot_scale

Json = dict[str, Any]

WIDTH, LEFT, RIGHT, TOP, HEIGHT = 470, 42, 152, 20, 130
INK, SOFT, PALE = "#16211f", "#51605c", "#c3ccc8"
FONT = 'font-family="Noto Sans, system-ui, sans-serif"'
KEY_LETTERS = 86
_ROW = 13  # from one line of words to the next
DATE_ROOM = 66  # a date under the axis needs so much


class Row(NamedTuple):
    """One exam of the picture in words."""

    date: str
    value: str
    uncertainty: str
    readings: str
    limits: list[str]
    notes: str


def rows(series: Json) -> list[Row]:
    """The text that stands for the picture: day, mean, uncertainty, every reading, limits with their source."""
    unit = series["unit"]
    return [
        Row(
            dates.day(point["date"], dates.SHORT),
            _amount(point["value"], unit),
            f"± {_amount(point['uncertainty'], unit)}" if point["uncertainty"] else "not known",
            _readings(point, unit),
            [plot_limits.words(row, unit) for row in point["limits"]],
            ", ".join(point["notes"]),
        )
        for point in series["points"]
    ]


def drawing(series: Json, height: int = HEIGHT) -> str:
    """The picture as SVG text with its title, its description and `role="img"`; its frame is `height` units high."""
    points = [point for point in series["points"] if point["value"] is not None]
    scale = plot_scale.made(points, WIDTH - LEFT - RIGHT, height)
    limits = plot_limits.placed(points, scale)
    places = _places(points, scale, limits)
    key = _key(series, limits.left_out)
    whole = TOP + height + 30 + 13 * len(key)
    name = "".join(sign if sign.isalnum() else "-" for sign in str(series["id"]))
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {whole}" width="{WIDTH}" height="{whole}" '
        f'role="img" aria-labelledby="plot-{name}-title plot-{name}-desc" {FONT} font-size="11" fill="{INK}">',
        f'<title id="plot-{name}-title">{_text(series["title"])} over {_exams(len(points))}</title>',
        f'<desc id="plot-{name}-desc">{_text(_described(series))}</desc>',
        f'<rect x="0" y="0" width="{WIDTH}" height="{whole}" fill="#ffffff"/>',
        *_axes(points, scale, series["unit"]),
        *_limit_lines(limits, places.lines),
        *_joined(points, scale),
        *(mark for place, point in enumerate(points) for mark in _point(point, scale, place, places.means[place])),
        *(_label(4, TOP + height + 38 + 13 * line, words, size=10) for line, words in enumerate(key)),
        "</svg>",
    ]
    return "\n".join(parts) + "\n"


def _axes(points: list[Json], scale: plot_scale.Scale, unit: str) -> list[str]:
    bottom, right = TOP + scale.height, WIDTH - RIGHT
    made = [
        f'<rect x="{LEFT}" y="{TOP}" width="{right - LEFT}" height="{scale.height}" fill="none" stroke="{PALE}"/>',
        *(
            f'<path d="M{LEFT - 4} {_y(scale, tick):.1f}H{LEFT}" stroke="{SOFT}" fill="none"/>'
            + _label(LEFT - 7, _y(scale, tick) + 4, tick, anchor="end")
            for tick in scale.ticks
        ),
        _label(4, 11, "" if unit in ("1", "{score}") else unit, size=11),
    ]
    told = None
    for place, point in enumerate(points):
        x = _x(scale, place)
        made.append(f'<path d="M{x:.1f} {bottom}v5" stroke="{SOFT}" fill="none"/>')
        last = place == len(points) - 1
        if told is None or x - told >= DATE_ROOM and (last or _x(scale, len(points) - 1) - x >= DATE_ROOM):
            made.append(_label(x, bottom + 17, dates.day(point["date"], dates.SHORT), anchor="middle", size=10))
            told = x
    return made


class Places(NamedTuple):
    """Where the words of the means and of the lines stand that end inside the frame; None: at the frame's edge."""

    means: list[plot_labels.Spot]
    lines: list[plot_labels.Spot | None]


def _places(points: list[Json], scale: plot_scale.Scale, limits: plot_limits.Placed) -> Places:
    """The means' words first, for they belong to their marks; then the lines'."""
    frame = plot_labels.Box(LEFT, WIDTH - RIGHT, TOP, TOP + scale.height)
    drawn = [plot_labels.line(LEFT + one.start, LEFT + one.end, TOP + one.y) for one in limits.lines]
    marks = [_mark_box(point, scale, place) for place, point in enumerate(points)]
    taken, means = [*drawn, *marks], []
    for place, point in enumerate(points):
        spots = plot_labels.beside(_x(scale, place), _y(scale, point["value"]))
        spot, box = plot_labels.free(spots, _mean_words(point), 11, taken, frame, _ROW)
        means.append(spot)
        taken.append(box)
    lines: list[plot_labels.Spot | None] = []
    for line in limits.lines:
        if line.to_the_end:
            lines.append(None)
            continue
        spots = plot_labels.along(LEFT + line.start, LEFT + line.end, TOP + line.y)
        spot, box = plot_labels.free(spots, [line.words], 10, taken, frame)
        lines.append(spot)
        taken.append(box)
    return Places(means, lines)


def _mark_box(point: Json, scale: plot_scale.Scale, place: int) -> plot_labels.Box:
    """What the mean takes with its bar and the readings beside it."""
    x, value, half = _x(scale, place), Decimal(point["value"]), Decimal(point["uncertainty"] or "0")
    heights = [_y(scale, one) for one in (value - half, value + half, *point["readings"], *point["set_aside"])]
    return plot_labels.Box(x - 6, x + 16, min(heights) - 4, max(heights) + 4)


def _mean_words(point: Json) -> list[str]:
    at_least = "\u2265 " if "at least" in point["notes"] else ""
    return [at_least + str(point["value"]), *(["partly seen"] if "partly seen" in point["notes"] else [])]


def _limit_lines(limits: plot_limits.Placed, places: list[plot_labels.Spot | None]) -> list[str]:
    made = []
    for line, spot in zip(limits.lines, places, strict=True):
        y, start, end = TOP + line.y, LEFT + line.start, LEFT + line.end
        dash = f' stroke-dasharray="{line.dash}"' if line.dash else ""
        ink = SOFT if line.unverified else INK
        pen = f'stroke="{ink}" stroke-width="{line.width}"{dash} fill="none"'
        made.append(f'<path d="M{start:.1f} {y:.1f}H{end:.1f}" {pen}/>')
        if spot is None:
            label = TOP + line.label_y
            made.append(f'<path d="M{end:.1f} {y:.1f}L{end + 8:.1f} {label:.1f}" stroke="{SOFT}" fill="none"/>')
            made.append(_label(end + 11, label + 3, line.words, size=10))
        else:
            made.append(_label(spot.x, spot.y, line.words, anchor=spot.anchor, size=10))
    return made


def _joined(points: list[Json], scale: plot_scale.Scale) -> list[str]:
    """A thin line from mean to mean, where both were measured in one plane."""
    return [
        f'<path d="M{_x(scale, place):.1f} {_y(scale, one["value"]):.1f}'
        f'L{_x(scale, place + 1):.1f} {_y(scale, other["value"]):.1f}" stroke="{PALE}" stroke-width="1.5" fill="none"/>'
        for place, (one, other) in enumerate(zip(points, points[1:], strict=False))
        if one["plane"] == other["plane"]
    ]


def _point(point: Json, scale: plot_scale.Scale, place: int, spot: plot_labels.Spot) -> list[str]:
    """The mean with its bar, and beside it one mark for each single reading, no two of them on one spot."""
    x, y = _x(scale, place), _y(scale, point["value"])
    made = []
    if point["uncertainty"]:
        half = Decimal(point["uncertainty"])
        low, high = (_y(scale, Decimal(point["value"]) + sign * half) for sign in (-1, 1))
        made.append(
            f'<path d="M{x:.1f} {low:.1f}V{high:.1f}M{x - 5:.1f} {low:.1f}h10M{x - 5:.1f} {high:.1f}h10" '
            f'stroke="{INK}" stroke-width="1.5" fill="none"/>'
        )
    fill = INK if point["uncertainty"] else "#ffffff"
    made.append(f'<path d="M{x:.1f} {y - 5:.1f}l5 5l-5 5l-5 -5z" fill="{fill}" stroke="{INK}" stroke-width="1.5"/>')
    mean, *noted = _mean_words(point)
    made.append(_label(spot.x, spot.y, mean, anchor=spot.anchor, weight="bold"))
    made += [_label(spot.x, spot.y + _ROW, words, anchor=spot.anchor, size=10) for words in noted]
    taken: list[tuple[float, float]] = []
    for kind, numbers in (("reading", point["readings"]), ("aside", point["set_aside"])):
        for number in numbers:
            across, up = x + 12, _y(scale, number)
            while any(abs(across - other) < 7 and abs(up - height) < 7 for other, height in taken):
                across += 7
            taken.append((across, up))
            made.append(_small(kind, across, up))
    return made


def _small(kind: str, x: float, y: float) -> str:
    if kind == "reading":
        return f'<circle cx="{x:.1f}" cy="{y:.1f}" r="2.6" fill="#ffffff" stroke="{INK}" data-mark="reading"/>'
    cross = f"M{x - 2.6:.1f} {y - 2.6:.1f}l5.2 5.2m0 -5.2l-5.2 5.2"
    return f'<path d="{cross}" stroke="{INK}" fill="none" data-mark="aside"/>'


def _key(series: Json, left_out: list[str]) -> list[str]:
    points = series["points"]
    line = "\u25c6 mean" + ("; \u25cb each single reading" if any(point["readings"] for point in points) else "")
    if any(point["uncertainty"] for point in points):
        line += "; bar: twice the standard uncertainty either way"
    if any(point["value"] is not None and not point["uncertainty"] for point in points):
        line += "; \u25c7 spread not known"
    if any(point["set_aside"] for point in points):
        line += "; \u00d7 read in another plane, not in the mean"
    lines = [line] + ([f"Beyond this picture: {'; '.join(left_out)}"] if left_out else [])
    return [part for one in lines for part in textwrap.wrap(one, KEY_LETTERS)]


def _described(series: Json) -> str:
    told = []
    for row in rows(series):
        notes = f", {row.notes}" if row.notes else ""
        told.append(f"{row.date}: {row.value}{notes}, uncertainty {row.uncertainty}; {row.readings}.")
    last = series["points"][-1]["limits"] if series["points"] else []
    limits = "; ".join(plot_limits.words(row, series["unit"]) for row in last)
    return " ".join([*told, f"Limits at the last exam: {limits or 'none published'}."])


def _readings(point: Json, unit: str) -> str:
    said = f"readings {', '.join(point['readings'])}" if point["readings"] else "calculated"
    if point["set_aside"]:
        said += f"; of another plane, not in the mean: {', '.join(point['set_aside'])}"
    return said


def _amount(number: str | None, unit: str) -> str:
    if number is None:
        return "no value"
    return number if unit in ("1", "{score}") else f"{number} {unit}"


def _exams(number: int) -> str:
    return "one exam" if number == 1 else f"{number} exams"


def _x(scale: plot_scale.Scale, place: int) -> float:
    return LEFT + scale.across[place]


def _y(scale: plot_scale.Scale, number: object) -> float:
    return TOP + scale.up(number)


def _label(x: float, y: float, text: str, anchor: str = "start", size: int = 11, weight: str = "normal") -> str:
    heavy = f" font-weight={quoteattr(weight)}" if weight != "normal" else ""
    halo = ' stroke="#ffffff" stroke-width="3" paint-order="stroke"'  # lines pass behind words
    return f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}" font-size="{size}"{heavy}{halo}>{_text(text)}</text>'


def _text(words: object) -> str:
    """As XML text; signs that XML does not know are left out."""
    return escape("".join(sign for sign in str(words) if sign in "\n\t" or sign >= " "))
