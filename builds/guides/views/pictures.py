"""Pictures of a draft: add one, delete one."""

from django import forms
from django.contrib import messages
from django.core.files.base import ContentFile
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _
from django.views.decorators.http import require_http_methods, require_POST

from builds.accounts.access import may_design
from builds.guides import access
from builds.guides.guide_file import GuideErrors
from builds.guides.guide_file.unpack import MAX_PICTURE, PICTURE, check_picture
from builds.guides.models import Picture
from builds.guides.points_map.places import forget_picture


class PictureForm(forms.Form):
    picture = forms.FileField(
        label=_("Picture"),
        help_text=_("A PNG or JPEG of up to 8 MB. Steps, checks and points refer to it by its file name."),
        widget=forms.ClearableFileInput(attrs={"accept": "image/png,image/jpeg"}),
    )

    def clean_picture(self):
        file = self.cleaned_data["picture"]
        if not PICTURE.fullmatch(file.name):
            message = gettext("A picture’s file name is letters, digits, - and _, then .png or .jpg.")
            raise forms.ValidationError(message, code="name")
        if file.size > MAX_PICTURE:
            raise forms.ValidationError(gettext("This picture is larger than 8 MB."), code="size")
        self.raw = file.read()
        try:
            self.size = check_picture(file.name, self.raw)
        except GuideErrors as error:
            raise forms.ValidationError(str(error), code="picture") from error
        return file


@may_design
@require_http_methods(["GET", "POST"])
def add_picture(request, kit, letter):
    """Add a picture, or put a new one in the place of one with the same name."""
    draft = access.draft_revision(request.user, kit, letter)
    form = PictureForm(request.POST or None, request.FILES or None)
    if request.method == "POST" and form.is_valid():
        name = form.cleaned_data["picture"].name
        draft.pictures.filter(name=name).delete()
        made = Picture(revision=draft, name=name, width=form.size[0], height=form.size[1])
        made.file.save(name, ContentFile(form.raw))
        messages.success(request, gettext("Added the picture %(name)s.") % {"name": name})
        return redirect("guides:revision", kit, letter)
    return render(
        request,
        "guides/picture.html",
        {"revision": draft, "form": form},
        status=422 if request.method == "POST" else 200,
    )


@may_design
@require_POST
def delete_picture(request, kit, letter, name):
    draft = access.draft_revision(request.user, kit, letter)
    get_object_or_404(draft.pictures, name=name).delete()
    forget_picture(draft, name)
    messages.success(request, gettext("Deleted the picture %(name)s.") % {"name": name})
    return redirect("guides:revision", kit, letter)
