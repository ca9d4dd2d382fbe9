"""A row of a guide in a form, judged by the rules of the guide file."""

from django import forms
from django.utils.translation import gettext as _

from builds.guides.editor import field_texts as texts
from builds.guides.editor.whole_guide import judge_row
from builds.guides.short_names import make_key

OTHER = {"step": "checks", "check": "steps"}  # the rows of a stage that share their names with these
WORDS_OF_KEY = 5


class RowForm(texts.Grouped, forms.ModelForm):
    """A row that the guide file's own rules also judge."""

    table = ""

    def as_row(self, data) -> dict:
        return {k: v for k, v in data.items() if v not in ("", None, [], {})}

    def find_field(self, key: str) -> str | None:
        """The form's field for a key of the guide file; None for what the row as a whole has."""
        return key if key in self.fields else None

    def clean(self):
        data = super().clean()
        if self.errors:
            return data
        if "key" in self.fields and not data.get("key"):
            data["key"] = self._made_key(data.get("title") or data.get("text") or "")
        judged = judge_row(self.table, self.as_row(data), self.instance)
        for problem in judged.own:
            field = self.find_field(problem.place.key)
            message = problem.message if field else f"{problem.place.key}: {problem.message}".removeprefix(": ")
            self.add_error(field, message)
        for problem in judged.dangers:
            self.add_error(None, f"{problem.label}: {problem.message}")
        return data

    def validate_unique(self):
        """Uniqueness within the revision is asked here, where the parent is known."""
        field = {"part": "ref", "point": "node"}.get(self.table, "key")
        value = self.cleaned_data.get(field)
        rows = self.siblings.filter(**{field: value}).exclude(pk=self.instance.pk)
        if value and field not in self.errors and (rows.exists() or self._is_taken_in_stage()):
            self.add_error(field, _("“%(name)s” already exists. Choose another name.") % {"name": value})

    def _made_key(self, title: str) -> str:
        """A short name from the first words of a new row, unlike those of its neighbours."""
        taken = {*self.siblings.values_list("key", flat=True)}
        if other := OTHER.get(self.table):
            taken |= {*getattr(self.instance.stage, other).values_list("key", flat=True)}
        return make_key(" ".join(title.split()[:WORDS_OF_KEY]), taken)

    def _is_taken_in_stage(self) -> bool:
        """Does a check have the new key of this step, or a step that of this check? Their order names them by it."""
        if self.cleaned_data.get("key") == self.initial.get("key"):
            return False  # the guide file allows it in a stage without an order of its own
        other = OTHER.get(self.table)
        return bool(other) and getattr(self.instance.stage, other).filter(key=self.cleaned_data.get("key")).exists()

    def __init__(self, *args, siblings=None, **kwargs):
        self.siblings = siblings
        super().__init__(*args, **kwargs)
        if "key" in self.fields and not self.instance.pk:
            self.fields["key"].required = False
            self.fields["key"].help_text = texts.NEW_KEY_HELP
        if "picture" in self.fields:
            self.fields["picture"] = self._picture_field()
        for name, labels in texts.CHOICES.items():
            if name in self.fields:
                self.fields[name].choices = list(labels.items())

    def _picture_field(self):
        revision = getattr(self.instance, "revision", None) or self.instance.stage.revision
        names = [picture.name for picture in revision.pictures.all()]
        chosen = self.instance.picture
        return forms.ChoiceField(
            required=False,
            choices=[
                ("", texts.NO_PICTURE),
                *((name, name) for name in names if name != chosen),
                *([(chosen, chosen)] if chosen else []),
            ],
            label=texts.PICTURE_LABEL,
            help_text="" if names else texts.NO_PICTURES,
            error_messages={"invalid_choice": texts.UNKNOWN_PICTURE},
        )
