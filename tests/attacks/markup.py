"""Texts that try to become something else than text, and a look at whether a page took one for markup."""

from html.parser import HTMLParser

# One mark in each, so that a page that lost or cut a text is noticed.
TEXTS = [
    "<script>window.hit=1</script>mark1",
    '"><img src=x onerror=window.hit=1>mark2',
    "'><svg/onload=window.hit=1>mark3",
    "</textarea></title></style><iframe srcdoc='<script>hit</script>'>mark4",
    "javascript:alert(1)//mark5",
    "{{ 7*7 }}{% raw %}${7*7}#{7*7}mark6",
    '#eval("1")#read("/etc/passwd")$x^2$@ref*b*<l>\\mark7',
    "<!--><a href=javascript:hit>mark8",
    "]]><style>*{display:none}</style>&lt;b&gt;&amp;mark9",
]
EVERYTHING = " ".join(TEXTS)
# Pictures of the program's own, by their class.
PICTURES = ("qr", "bars", "dots")
MARKS = [f"mark{number}" for number in range(1, len(TEXTS) + 1)]


class Look(HTMLParser):
    """Names what in a page is not the program's own: elements and attributes that could run something."""

    def __init__(self, page: str):
        super().__init__(convert_charrefs=True)
        self.found: list[str] = []
        self.text = ""
        # To a browser an empty comment (HTML standard, 13.2.5.43), to Python 3.11.2 the beginning of one.
        self.feed(page.replace("<!-->", "<!---->"))
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = dict(attrs)
        self.text += " ".join(value or "" for value in given.values())
        if tag in ("iframe", "object", "embed", "base", "style", "math") or tag == "script" and not given.get("src"):
            self.found.append(tag)
        if tag == "img" and given.get("src") == "x" or tag == "svg" and given.get("class") not in PICTURES:
            self.found.append(tag)
        for name, value in given.items():
            goes = name in ("href", "src", "action", "formaction", "data", "xlink:href")
            if name.startswith("on") or name in ("style", "srcdoc"):
                self.found.append(f"{tag} {name}")
            own = (value or "").startswith(("/", "#", "?")) and not (value or "").startswith("//")
            if goes and not own and value != "":
                self.found.append(f"{tag} {name}={value}")

    handle_startendtag = handle_starttag

    def handle_data(self, data: str) -> None:
        self.text += data
