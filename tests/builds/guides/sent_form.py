"""What a browser sends of a page's form that nobody has typed into: HTML's own rules for successful controls."""

from html.parser import HTMLParser

SILENT = ("submit", "button", "file", "image", "reset")


def sent_fields(html: str, form_id: str = "") -> dict[str, str | list[str]]:
    """Names and values of a form (the one of this id, or all of the page)."""
    reader = _Reader(form_id)
    reader.feed(html)
    return {name: values[0] if len(values) == 1 else values for name, values in reader.fields.items()}


class _Reader(HTMLParser):
    def __init__(self, form_id: str):
        super().__init__(convert_charrefs=True)
        self.form_id, self.is_in = form_id, not form_id
        self.fields: dict[str, list[str]] = {}
        self.select, self.options, self.area, self.words = "", [], "", ""

    def handle_starttag(self, tag, attrs):
        a = dict(attrs)
        if tag == "form" and self.form_id:
            self.is_in = a.get("id") == self.form_id
        if not self.is_in or "disabled" in a:
            return
        name = a.get("name") or ""
        if tag == "input" and name and a.get("type", "text") not in SILENT:
            if a.get("type") not in ("checkbox", "radio") or "checked" in a:
                self._add(name, a.get("value", "on" if a.get("type") in ("checkbox", "radio") else "") or "")
        elif tag == "select":
            self.select, self.options = name, []
        elif tag == "option" and self.select:
            self.options.append((a.get("value", ""), "selected" in a))
        elif tag == "textarea":
            self.area, self.words = name, ""

    def handle_endtag(self, tag):
        if tag == "select" and self.select:
            chosen = [value for value, is_chosen in self.options if is_chosen] or [v for v, _c in self.options[:1]]
            for value in chosen:
                self._add(self.select, value)
            self.select = ""
        elif tag == "textarea" and self.area:
            self._add(self.area, self.words.removeprefix("\n"))
            self.area = ""

    def handle_data(self, data):
        if self.area:
            self.words += data

    def _add(self, name: str, value: str) -> None:
        self.fields.setdefault(name, []).append(value)


def version_at(client, address: str) -> dict[str, str]:
    """What a page's form says that it began from."""
    return {"version": client.get(address).context["version"]}
