"""What would run in a page or a picture, found without a browser."""

import re
from html.parser import HTMLParser

# Elements that run, load or send something by themselves.
ACTIVE = {"script", "iframe", "object", "embed", "applet", "base", "form", "meta"}
ACTIVE |= {"animate", "set", "foreignobject", "portal", "frame", "link", "details"}
LEADS = {"src", "href", "xlink:href"}
QUIET_META = {"charset", "name", "content"}
POLICY = "content-security-policy"  # a meta that forbids, and so no danger


class _Finder(HTMLParser):
    def __init__(self):
        super().__init__(convert_charrefs=True)
        self.found, self.text = [], []

    def handle_starttag(self, tag, attrs):
        names = {name for name, _ in attrs}
        policy = ("http-equiv", POLICY) in [(n, (v or "").casefold()) for n, v in attrs]
        quiet = tag == "meta" and (names <= QUIET_META or policy)
        if tag in ACTIVE and not quiet:
            self.found.append(f"<{tag}>")
        for name, value in attrs:
            value = re.sub(r"[\s\0-\x20]", "", value or "").casefold()
            if name.startswith("on"):
                self.found.append(f"<{tag} {name}>")
            elif value.startswith(("javascript:", "vbscript:", "data:text/html")):
                self.found.append(f"<{tag} {name}={value[:20]}>")
            elif name in LEADS and re.match(r"(?!data:image/)(\w+:|//)", value):
                self.found.append(f"<{tag} {name}={value[:40]}>")

    handle_startendtag = handle_starttag

    def handle_data(self, data):
        self.text.append(data)

    def handle_decl(self, decl):
        if decl.casefold() != "doctype html":
            self.found.append(f"<!{decl}>")


def active_parts(markup: str) -> list[str]:
    """Everything in HTML or SVG that could run a script or ask another host."""
    finder = _Finder()
    finder.feed(markup)
    finder.close()
    return finder.found


def shown_text(markup: str) -> str:
    """The text of a page, blanks squeezed."""
    finder = _Finder()
    finder.feed(markup)
    finder.close()
    return " ".join("".join(finder.text).split())
