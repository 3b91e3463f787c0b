"""A value and its rows -> what is said of it: lines for flags, for values within, and for silences."""

from . import decimals, grades, spread, windows, wording
from . import learned as learned_rules
from . import limits as limit_rules
from .tables import Tables

# Rows that print what such animals have; cut-offs and unverified rows do not speak against a limit.
SPEAKING = limit_rules.JUDGING + ("reference",)


class Judge:
    """What all verdicts of one exam share: animal, tables, and the lists that fill up."""

    def __init__(
        self, exam: dict, animal: dict, tables: Tables, learned: dict | None = None, memo: dict | None = None
    ) -> None:
        self.exam = exam
        self.memo = {} if memo is None else memo
        self.learned = learned or {}
        self.animal = animal
        self.tables = tables
        self.catalogue = tables.catalogue
        self.limits = tables.limits
        self.thresholds = tables.thresholds
        self.flags = []
        self.judged = []
        self.silent = []
        self.assumed = []

    def cell(self, value: dict) -> dict | None:
        """What is kept of a value whose readings have not changed (values.of_readings), or None for a derived one."""
        cell = self.memo.get(value["id"])
        return cell if cell and cell["value"] is value else None

    def learned_of(self, quantity: str) -> dict | None:
        """The learned spread {"sd", "df"} of a quantity, both sides taken together, or None."""
        return learned_rules.of(self.learned, quantity, self.exam.get("author"))

    def rows(self, quantity: str) -> list:
        return self.limits.rows(self.animal["species"], quantity)

    def show(self, number: tuple[int, int], quantity: str) -> str:
        return decimals.show(number, self.catalogue.quantity(quantity)["decimals"])

    def unit(self, quantity: str) -> str:
        return self.catalogue.quantity(quantity)["unit"]

    def line(self, about: str, kind: str, text: str, more: dict | None = None) -> dict:
        """One output object with the fields that every line has."""
        quantity = self.catalogue.quantity(about) if self.catalogue.has_quantity(about) else None
        if quantity:
            structure, part = quantity["structure"], quantity["part"]
        elif about[:8] == "patient.":
            structure, part = None, None
        else:
            structure, part = self.catalogue.place(about)
        made = {
            "about": about,
            "kind": kind,
            "grade": self.thresholds["grades"].get(kind),
            "value": None,
            "unit": None,
            "limit": None,
            "also": [],
            "at_least": False,
            "borderline": None,
            "probability": None,
            "call": None,
            "sources_differ": False,
            "text": text,
            "source": None,
            "structure": structure,
            "part": part,
        }
        made.update(more or {})
        return made

    def open_item(self, about: str, kind: str, text: str) -> dict:
        """One item of what is still open, with the place that it belongs to."""
        structure, part = None, None
        if self.catalogue.has_quantity(about):
            quantity = self.catalogue.quantity(about)
            structure, part = quantity["structure"], quantity["part"]
        elif about not in ("question", "patient.sex"):
            structure, part = self.catalogue.place(about)
        item = {"about": about, "kind": kind, "text": text, "structure": structure, "part": part}
        if kind == "not_seen" and structure:
            done = windows.tried(self.exam, structure)
            item["windows"] = windows.in_order(self.tables.windows, structure, done)
            item["tried"] = windows.tried_words(self.tables.windows, structure, done)
        return item

    def flag(self, about: str, kind: str, text: str, more: dict | None = None) -> None:
        line = self.line(about, kind, text, more)
        if kind in ("oblique", "partly_seen") and line["structure"]:
            done = windows.tried(self.exam, line["structure"])
            line["windows"] = windows.in_order(self.tables.windows, line["structure"], done)
        self.flags.append(line)

    def silence(self, about: str, why: str, also: list | None = None, detail: str = "") -> None:
        """One line per value and reason; the first words stand."""
        for line in self.silent:
            if line["about"] == about and line["why"] == why:
                return
        line = self.line(about, "silent", wording.SILENCE[why] + detail, {"also": self.say_also(also or [])})
        line["why"] = why
        self.silent.append(line)

    def say_also(self, rows: list) -> list:
        for row in rows:
            bound = wording.bound_words(row, row["unit"])
            source = self.limits.sources[self.limits.by_id[row["id"]]["source"]]
            row["words"] = wording.use_words(row["use"]) + bound + " (" + wording.who(source) + "): " + row["verdict"]
            row["source"] = wording.source_words(source)
        return rows

    def source_of(self, row_id: str) -> str:
        return wording.source_words(self.limits.sources[self.limits.by_id[row_id]["source"]])

    def limit_fields(self, row: dict) -> dict:
        """The limit as it is printed beside a value."""
        return {
            "id": row["id"],
            "lower": row.get("lower"),
            "upper": row.get("upper"),
            "unit": row["unit"],
            "population": row["population"],
            "n": row["n"],
            "plane": row.get("plane"),
            "known": row["known"],
            "use": row["use"],
            "statistic": row["statistic"],
            "source": row["source"],
            "class_words": wording.class_words(row),
        }


def judge_value(judge: Judge, value: dict) -> None:
    """Both sides and the alerts of one value; where no row judges it, the reason. Said again while nothing changed."""
    cell = judge.cell(value)
    lists = (judge.flags, judge.judged, judge.silent, judge.assumed)
    if cell is None or "said" not in cell:
        lengths = [len(lines) for lines in lists]
        _judge_value(judge, value)
        if cell is not None:
            cell["said"] = [lines[length:] for lines, length in zip(lists, lengths)]
        return
    for lines, said in zip(lists, cell["said"]):
        lines += [line for line in said if line not in lines]


def _judge_value(judge: Judge, value: dict) -> None:
    about, rows = value["id"], judge.rows(value["id"])
    alerts(judge, value, rows, about)
    if value["view"] == "partly":
        judge.silence(about, "partly_seen")
        return
    reasons, lines, held_back = [], [], False
    for side in sides(judge, about):
        chosen = limit_rules.choose(rows, side, judge.animal, value["plane"])
        if chosen["row"]:
            lines.append(verdict_line(judge, value, chosen["row"], side, about))
        elif chosen["gated"]:
            held_back = True
            gated(judge, value, chosen["gated"], side, about)
        else:
            reasons.append(chosen["why"])
    keep(judge, lines)
    if not lines and not held_back:
        silent_because(judge, value, rows, worst(reasons))


def keep(judge: Judge, lines: list) -> None:
    """Flags are kept as they are; of the lines within, one is enough, and none beside a flag beyond a limit."""
    within = [line for line in lines if line["kind"] == "within"]
    for line in lines:
        if line["kind"] != "within":
            judge.flags.append(line)
    if within and len(within) == len(lines):
        judge.judged.append(within[0])


def silent_because(judge: Judge, value: dict, rows: list, why: str) -> None:
    """Says why no row judges a value; of a derived one with nothing to compare, nothing is said."""
    also = beside(judge, value, None, rows)
    if value["derived"] and why == "no_published_limit" and not also:
        return
    if why == "no_limit_for_weight":
        say_assumed(judge, value["id"], rows)
    judge.silence(value["id"], why, also, near_edge(judge, rows, why))


def near_edge(judge: Judge, rows: list, why: str) -> str:
    """Where no class reaches the weight but one ends close by, that class in words."""
    if why != "no_limit_for_weight":
        return ""
    share = decimals.parse(judge.thresholds["class_edge"]["share"])
    for row in rows:
        weight = limit_rules.weight_of(row, judge.animal)
        if row["use"] not in limit_rules.JUDGING or not row.get("weight_kg") or weight is None:
            continue
        for edge in (row["_min"], row["_max"]):
            gap = decimals.absolute(decimals.sub(weight, edge)) if edge else None
            if gap and decimals.compare(gap, decimals.mul(edge, share)) <= 0:
                words = wording.bound_words(row, row["unit"]) + ", " + wording.class_words(row)
                return "; the class edge at " + decimals.exact(edge) + " kg is near (" + words + ")"
    return ""


def sides(judge: Judge, quantity: str) -> tuple:
    """Walls, ducts, nodes, pancreas and cats' adrenal glands have no lower verdict."""
    row = judge.catalogue.quantity(quantity)
    if not row["lower_verdict"] or (judge.animal["species"] == "cat" and quantity[:8] == "adrenal."):
        return ("upper",)
    return ("upper", "lower")


def worst(reasons: list) -> str:
    """The reason worth saying: one that a person can mend, or that names a limit, before "none published"."""
    for why in ("age_under_12_months", "weight_unknown", "no_limit_for_weight", "unverified_only"):
        if why in reasons:
            return why
    return "no_published_limit"


def gated(judge: Judge, value: dict, rows: list, side: str, about: str) -> None:
    """A row held back by applies_when is named only where it would have flagged."""
    for row in rows:
        if limit_rules.is_beyond(row, side, value["mean"]):
            why = limit_rules.unmet(row, judge.animal) or "needs_context"
            words = " (" + wording.bound_words(row, row["unit"]) + ", " + wording.class_words(row) + ")"
            judge.silence(about, why, detail=words)
            return
    row = rows[0]
    judge.judged.append(
        judge.line(
            about,
            "no_verdict",
            "no verdict: the limit of " + wording.bound_words(row, row["unit"]) + " is for " + wording.class_words(row),
            {"limit": judge.limit_fields(row)},
        )
    )


def give(
    judge: Judge, value: dict, row: dict, side: str, about: str, at_least: bool = False, also: list | None = None
) -> None:
    """Keeps the verdict of one row on one side."""
    keep(judge, [verdict_line(judge, value, row, side, about, at_least, also)])


def verdict_line(
    judge: Judge, value: dict, row: dict, side: str, about: str, at_least: bool = False, also: list | None = None
) -> dict:
    """The verdict of one row on one side: a flag, a near-limit note, or a line "within"."""
    beyond = limit_rules.is_beyond(row, side, value["mean"])
    odds = odds_of(judge, value, row, side, about)
    if beyond:
        kind = "above_limit" if side == "upper" else "below_limit"
    else:
        kind = "near_limit" if odds["borderline"] else "within"
    fields = describe(judge, value, row, about, at_least, also)
    fields.update(odds)
    fields["call"] = wording.call_words(odds["borderline"], beyond)
    fields["sources_differ"] = sources_differ(judge, fields["also"], beyond)
    say_assumed(judge, about, [row])
    return judge.line(about, kind, text_of(judge, value, fields, row, kind, side), fields)


def sources_differ(judge: Judge, also: list, beyond: bool) -> bool:
    """Whether another published limit or range for such an animal says otherwise of the value.

    A cut-off is none, nor what is unverified, nor a mere range of what was observed in animals of all kinds.
    """
    for other in also:
        row = judge.limits.by_id[other["id"]]
        seen = str(row["statistic"] or "").startswith("observed range")
        if row["use"] in SPEAKING and not seen and (other["verdict"] in ("above", "below")) != beyond:
            return True
    return False


def say_assumed(judge: Judge, about: str, rows: list) -> None:
    """What was taken for granted of the animal where these rows judge it, or fail to."""
    for row in rows:
        if row["use"] not in limit_rules.JUDGING:
            continue
        by_ideal = row.get("weight_is") == "ideal body weight"
        if by_ideal and judge.animal["ideal_weight"] is None and judge.animal["weight"] is not None:
            assume(judge, about, "class by the weight of the day: the ideal weight is not known")
        if not judge.animal["age_known"] and row.get("age_months"):
            words = "age not known: judged as an adult"
            if row["age_months"]["max"] is not None or row["age_months"]["min"] > judge.thresholds["adult_months"]:
                words += ", by the limits for " + wording.class_words(row)
            assume(judge, about, words)


def odds_of(judge: Judge, value: dict, row: dict, side: str, about: str) -> dict:
    """Probability of the true value lying beyond the limit; the limit's own uncertainty counts where published."""
    learned = judge.learned_of(value["inputs"][0] if value["inputs"] else value["id"])
    squared = spread.uncertainty_squared(value, judge.unit(about), judge.thresholds, learned)
    if squared is not None:
        squared = decimals.add(squared, spread.limit_squared(row, judge.thresholds))
    past = decimals.sub(value["mean"], row["_" + side])
    return spread.beyond(past if side == "upper" else decimals.sub((0, 1), past), squared, judge.thresholds)


def assume(judge: Judge, about: str, text: str) -> None:
    if {"about": about, "text": text} not in judge.assumed:
        judge.assumed.append({"about": about, "text": text})


def describe(judge: Judge, value: dict, row: dict, about: str, at_least: bool, also: list | None) -> dict:
    """The fields of a line that names a value and a limit."""
    beside_rows = (
        beside(judge, value, row["id"], judge.rows(value["id"]))
        if also is None
        else [other for other in also if other["id"] != row["id"]]
    )
    return {
        "about": about,
        "value": judge.show(value["mean"], about),
        "unit": judge.unit(about),
        "limit": judge.limit_fields(row),
        "also": judge.say_also(beside_rows),
        "at_least": at_least,
        "source": judge.source_of(row["id"]),
        "n": value["n"],
    }


def beside(judge: Judge, value: dict, chosen: str | None, rows: list) -> list:
    return limit_rules.beside(rows, chosen, value["mean"], judge.animal, value["plane"], sides(judge, value["id"]))


def text_of(judge: Judge, value: dict, fields: dict, row: dict, kind: str, side: str) -> str:
    """One quiet line: value, words, limit, the animals it speaks of. "Within" is said only of a two-sided limit."""
    bound = wording.amount(row[side], row["unit"])
    if kind in ("above_limit", "below_limit"):
        words = ("above " if side == "upper" else "below ") + bound
    elif kind == "near_limit":
        words = ("not above, but close to " if side == "upper" else "not below, but close to ") + bound
        if decimals.compare(value["mean"], row["_" + side]) == 0:
            words = "on the limit of " + bound + (", not above" if side == "upper" else ", not below")
    elif row["_lower"] is not None and row["_upper"] is not None and len(sides(judge, fields["about"])) == 2:
        words = "within " + wording.bound_words(row, row["unit"])
    else:
        words = ("not above " if side == "upper" else "not below ") + bound
    start = "at least " if fields["at_least"] else ""
    return (
        start
        + wording.amount(_told_apart(value, fields, row, kind, side), fields["unit"])
        + ": "
        + words
        + " ("
        + wording.class_words(row)
        + ")"
    )


def _told_apart(value: dict, fields: dict, row: dict, kind: str, side: str) -> str:
    """The value shown; where rounding would put it on the limit that it lies beyond, its exact digits."""
    shown = fields["value"]
    rounded = decimals.parse(shown)
    hidden = kind in ("above_limit", "below_limit") and not limit_rules.is_beyond(row, side, rounded)
    met = kind == "near_limit" and decimals.compare(rounded, row["_" + side]) == 0
    if hidden or (met and decimals.compare(value["mean"], rounded) != 0):
        return shown + " (" + decimals.show(value["mean"], 4) + " before rounding)"
    return shown


def alerts(judge: Judge, value: dict, rows: list, about: str) -> None:
    """Alert rows need no weight and no age, and are not silenced by a partial view, which is then said."""
    for row in rows:
        if row["use"] != "alert" or not limit_rules.plane_fits(row, value["plane"]):
            continue
        for side in ("upper", "lower"):
            if limit_rules.is_beyond(row, side, value["mean"]):
                fields = describe(judge, value, row, about, False, None)
                words = " (partly seen)" if value["view"] == "partly" else ""
                bound = wording.amount(row[side], row["unit"])
                grade = judge.thresholds["grades"]["alert"]
                reach = bound + " or more" if row.get(side + "_is_within") is False else "over " + bound
                text = (
                    wording.amount(fields["value"], fields["unit"])
                    + words
                    + ": "
                    + reach
                    + " ("
                    + wording.class_words(row)
                    + (
                        "); consider telling someone now"
                        if grade == grades.TELL
                        else ")" + grades.told_why(judge.thresholds)
                    )
                )
                judge.flag(about, "alert", text, fields)
