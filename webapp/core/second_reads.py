"""Second reads of one exam: of each reader and structure the newest that stands."""


def standing(exam: dict) -> list:
    """The rows of `second_reads` that count, in the order of the journal; a later one of the same reader on the same
    structure takes the place of an earlier one, which stays in the record. Exams from before there were any have none.
    """
    newest = {}
    rows = [row for row in exam.get("second_reads") or [] if not row.get("struck")]
    for row in rows:
        newest[row["author"] + ":" + row["structure"]] = row["id"]
    return [row for row in rows if newest[row["author"] + ":" + row["structure"]] == row["id"]]
