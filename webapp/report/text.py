"""The report as plain text, in the same order as page and PDF, for a message or a card file."""

import textwrap

from .case import Json

_WIDTH = 80


def text(report: Json) -> str:
    """Plain text, lines of 80 characters, LF ends. A table row becomes a line that names each of its columns."""
    status = report["status"]
    lines = [
        report["practice"],
        report["exam_line"],
        f"{status['word']}, {status['version']}. {status['line']}".rstrip(),
        "",
        report["animal"]["name"],
        report["animal"]["line"],
        f"Animal {report['animal']['id']}",
    ]
    lines += [report["context_line"]] if report["context_line"] else []
    for number, section in enumerate(report["sections"], start=1):
        heading = f"{number}. {section['title'].upper()}"
        lines += ["", heading, "-" * len(heading)]
        for block in section["blocks"]:
            lines += _FORMS[block["kind"]](block)
    return "\n".join(line for given in lines for line in _wrapped(given)) + "\n"


def _wrapped(line: str) -> list[str]:
    """The line within the width; a hanging indent for list items; words are never broken or lost."""
    made: list[str] = []
    for piece in line.split("\n"):
        indent = "  " if piece.startswith(("- ", "[")) else ""
        made += textwrap.wrap(
            piece,
            _WIDTH,
            subsequent_indent=indent,
            break_long_words=False,
            break_on_hyphens=False,
            replace_whitespace=False,
            drop_whitespace=True,
        ) or [""]
    return made


def _labelled(block: Json) -> list[str]:
    return [f"{block['label']}: {block['text']}" if block.get("label") else block["text"]]


def _list(block: Json) -> list[str]:
    head = [f"{block['label']}:"] if block["label"] else []
    return head + [f"- {item['text']}" for item in block["items"]]


def _findings(block: Json) -> list[str]:
    return [f"- {item['label']}{' (asked)' if item['asked'] else ''}: {item['text']}" for item in block["items"]]


def _remarks(block: Json) -> list[str]:
    return [f"{block['label']}:", *(f"- {_named(item)}" for item in block["items"])]


def _named(item: Json) -> str:
    return f"{item['label']}: {item['text']}" if item["text"] else f"{item['label']}."


def _table(block: Json) -> list[str]:
    name, *others = block["columns"]
    lines = []
    for row in block["rows"]:
        cells = {column: words_of(cell) for column, cell in row["cells"].items()}
        said = [
            f"{column['spoken']} {cells[column['id']]}".strip() for column in others if cells[column["id"]] != "\u2013"
        ]
        lines.append(f"- {cells[name['id']]}: {'; '.join(said)}")
    return lines + ([block["legend"]] if block["legend"] else [])


def words_of(cell: str | Json) -> str:
    """A cell on one line: "7.4 \u25b2 ABOVE (7.4 7.6 7.3 \u00b7 n 3 \u00b7 spread 0.3)"."""
    if isinstance(cell, str):
        return cell
    return f"{cell['head']} ({cell['detail']})" if cell["detail"] else str(cell["head"])


def _sources(block: Json) -> list[str]:
    listed = [f"[{item['number']}] {' '.join([item['text'], *item['rows']])}" for item in block["items"]]
    return [*listed, block["note"]]


def _plot(block: Json) -> list[str]:
    return [f"{block['title']}, exam by exam: {block['text']}"]


def _cautions(block: Json) -> list[str]:
    return [f"- {item['text']}" for item in block["items"]]


def _prints(block: Json) -> list[str]:
    return [f"{item['label']}: {item['text']}" for item in block["items"]]


_FORMS = {
    "lead": _labelled,
    "para": _labelled,
    "fact": _labelled,
    "list": _list,
    "findings": _findings,
    "remarks": _remarks,
    "table": _table,
    "sources": _sources,
    "plot": _plot,
    "cautions": _cautions,
    "prints": _prints,
}
