"""A field of several rows and columns, drawn as a small table with rows to spare."""

import re
from dataclasses import dataclass

from django import forms
from django.template.loader import render_to_string

MOST = 200  # rows of one field
LONGEST = 300  # characters of one cell


@dataclass(frozen=True)
class Column:
    """`choices` (value, label) make it a list to choose from; `suggestions` are offered while one types."""

    name: str
    label: object
    choices: tuple = ()
    suggestions: tuple = ()
    is_wide: bool = False


class TableWidget(forms.Widget):
    use_fieldset = True

    def __init__(self, columns: tuple[Column, ...], spare: int):
        super().__init__()
        self.columns, self.spare = columns, spare
        self.is_single = False

    def render(self, name, value, attrs=None, renderer=None):
        blank = {column.name: "" for column in self.columns}
        rows = [*(value or []), *(blank for _ in range(self.spare))]
        return render_to_string(
            "guides/_table_field.html",
            {
                "name": name,
                "is_single": self.is_single,
                "columns": [(column, [*column.choices]) for column in self.columns],
                "rows": [
                    (n, [(column, row.get(column.name, ""), _choices(column, row)) for column in self.columns])
                    for n, row in enumerate(rows)
                ],
            },
        )

    def value_from_datadict(self, data, files, name):
        pattern = re.compile(rf"{re.escape(name)}-([0-9]{{1,3}})-[a-z_]+")
        numbers = sorted({int(match[1]) for key in data if (match := pattern.fullmatch(key))})
        rows = (
            {column.name: data.get(f"{name}-{n}-{column.name}", "").strip() for column in self.columns}
            for n in numbers[:MOST]
        )
        return [row for row in rows if any(row.values())]

    def value_omitted_from_data(self, data, files, name):
        return not any(key.startswith(f"{name}-") for key in data)


def _choices(column: Column, row: dict) -> list:
    """What may be chosen; what stands there already is among it."""
    if not column.choices:
        return []
    chosen, known = row.get(column.name, ""), [value for value, _label in column.choices]
    return [("", "—"), *column.choices, *([(chosen, chosen)] if chosen and chosen not in known else [])]


class TableField(forms.Field):
    """Its value is a list of {column: text}, without the rows that are blank."""

    def __init__(self, *, columns: tuple[Column, ...], spare: int = 2, **kwargs):
        self.columns = columns
        super().__init__(widget=TableWidget(columns, spare), required=False, **kwargs)

    def prepare_value(self, value):
        names = [column.name for column in self.columns]
        return [{name: str(row.get(name, "")) for name in names} for row in value or []]

    def clean(self, value):
        for row in value or []:
            if any(len(cell) > LONGEST for cell in row.values()):
                raise forms.ValidationError(forms.Field.default_error_messages["required"], code="long")
        return value or []

    def has_changed(self, initial, data):
        return self.prepare_value(initial) != self.prepare_value(data)
