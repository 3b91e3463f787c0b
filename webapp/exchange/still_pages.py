"""/exchange/still: a kept still with its scale, on which a distance is measured by two points."""

from typing import Any

from flask import Blueprint, abort, flash, jsonify, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue
from werkzeug.datastructures import MultiDict
from werkzeug.wrappers import Response

from webapp.animals.routes import author
from webapp.exchange import dicom_taking, distance
from webapp.exchange.dicom_pages import TokenForm, folded_exam, late, measures, of_exam
from webapp.exchange.distance import CannotMeasure, Distance, Point
from webapp.review import words
from webapp.store.db import get_db

blueprint = Blueprint("stills", __name__, url_prefix="/exchange/still", template_folder="templates")
POINTS = ("x1", "y1", "x2", "y2")
PLANES = ("long_axis", "short_axis", "dorsal")


@blueprint.route("/<exam>/<entry>", methods=["GET", "POST"])
def still_page(exam: str, entry: str) -> ResponseReturnValue:
    """The still with its two points; a distance is worked out, or kept as a reading."""
    still, folded = _still(exam, entry), folded_exam(exam)
    typed = dict(request.form) if request.method == "POST" else _start(still)
    told, found = [], None
    if TokenForm().validate_on_submit():
        try:
            points, found = measured(still, request.form)
            if request.form.get("what") == "keep":
                told = _faults(request.form, found)
                if not told:
                    return _kept(still, found, points, request.form)
        except CannotMeasure as error:
            told = [str(error)]
    body = still["body"]
    rows = [row for row in folded.exam["readings"] if row["image"] == dicom_taking.marked(body["hash"])]
    lengths = [group | {"rows": [row for row in group["rows"] if row["unit"] == "mm"]} for group in measures()]
    page = render_template(
        "exchange/still.html", still=body, entry=entry, typed=typed, told=told, found=found, rows=rows,
        form=TokenForm(formdata=None), measures=lengths, planes=[(name, words.plain(name)) for name in PLANES],
        label=words.label, moment=words.moment, **of_exam(exam, folded))
    return page, 422 if told else 200


@blueprint.get("/<exam>/<entry>/distance")
def distance_of(exam: str, entry: str) -> ResponseReturnValue:
    """The distance of two points as the reading would hold it, for the script of the page."""
    try:
        _, found = measured(_still(exam, entry), request.args)
    except CannotMeasure as error:
        return jsonify(text=str(error), mm=None)
    return jsonify(text=in_words(found), mm=str(found.mm))


def measured(still: dict[str, Any], given: MultiDict[str, str]) -> tuple[tuple[Point, Point], Distance]:
    """The two points and their distance. Raises CannotMeasure."""
    numbers = []
    for name in POINTS:
        text = given.get(name, "").strip()
        if not text.isascii() or not text.isdecimal() or len(text) > 5:
            raise CannotMeasure(f'"{text}" is no column or row of the picture: whole numbers from 0.')
        numbers.append(int(text))
    points = ((numbers[0], numbers[1]), (numbers[2], numbers[3]))
    return points, distance.between(*points, dicom_taking.regions(still["body"]["regions"]))


def in_words(found: Distance) -> str:
    return f"{found.mm} mm, standard uncertainty by the pixels {found.uncertainty} mm"


def _faults(given: MultiDict[str, str], found: Distance) -> list[str]:
    """What keeps a distance from being kept."""
    told = []
    if (words.quantities().get(given.get("quantity", "")) or {}).get("unit") != "mm":
        told.append("Choose what you measured.")
    if given.get("plane") and given["plane"] not in PLANES:
        told.append("Choose a plane of the list.")
    if given.get("shown") != str(found.mm):
        told.append(f"The distance is {found.mm} mm now: look at it, then keep it.")
    return told


def _kept(still: dict[str, Any], found: Distance, points: tuple[Point, Point], given: MultiDict[str, str]) -> Response:
    more = {"plane": given["plane"]} if given.get("plane") else {}
    dicom_taking.keep_distance(get_db(), still, found, points, given["quantity"], more, author())
    name = words.label(given["quantity"])
    flash(f"{name}: {in_words(found)}. It is kept under your name.{late(still['exam'])}", "good")
    return redirect(url_for("stills.still_page", exam=still["exam"], entry=still["id"]))


def _start(still: dict[str, Any]) -> dict[str, str]:
    """Two points to begin with: a third of the first part's width apart, at half its height."""
    part = still["body"]["regions"][0]
    width, middle = part["right"] - part["left"], (part["top"] + part["bottom"]) // 2
    return {"x1": str(part["left"] + width // 3), "y1": str(middle), "x2": str(part["right"] - width // 3),
            "y2": str(middle)}


def _still(exam: str, entry: str) -> dict[str, Any]:
    found = next((one for one in dicom_taking.stills(get_db(), exam) if one["id"] == entry), None)
    if found is None:
        abort(404, "There is no such still in this exam.")
    return found
