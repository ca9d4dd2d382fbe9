"""The two fields of a video, beside a stage, a step or a part."""

from django import forms
from django.utils.translation import gettext_lazy as _

GROUP = (_("Video"), "", ("video_address", "video_at"))
FIELDS = GROUP[2]


class VideoFields(forms.Form):
    video_address = forms.CharField(
        required=False,
        max_length=300,
        label=_("Video address"),
        help_text=_(
            "For example https://host/film. The video opens at the start time below. If its host needs the start "
            "time elsewhere in the address, write {seconds} there."
        ),
    )
    video_at = forms.CharField(
        required=False, max_length=8, label=_("Start time"), help_text=_("Hours, minutes and seconds, such as 0:04:15.")
    )

    def fill_video(self, table: dict | None) -> None:
        for name in ("address", "at"):
            self.fields[f"video_{name}"].initial = (table or {}).get(name, "")


def video_table(data: dict) -> dict | None:
    """The guide file's `video`, from cleaned data."""
    table = {name: data[f"video_{name}"].strip() for name in ("address", "at") if data.get(f"video_{name}", "").strip()}
    return table or None


def without_video(data: dict) -> dict:
    return {key: value for key, value in data.items() if key not in FIELDS}
