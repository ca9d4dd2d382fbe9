"""Kits, importing a guide, and beginning one by hand."""

from django import forms
from django.conf import settings
from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.db import transaction
from django.db.models import Count
from django.shortcuts import redirect, render
from django.utils.text import slugify
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from builds.accounts.access import may_design
from builds.accounts.limits import limited
from builds.guides import access
from builds.guides.guide_file import GuideErrors, circuit_warnings, read_guide, store_guide
from builds.guides.guide_file.import_over import changes, find_draft, import_over, pictures_changed, read_over, version
from builds.guides.guide_file.shape import RESERVED
from builds.guides.guide_file.walk import MAINS_HERTZ, MAINS_VOLTS
from builds.guides.models import Kit, Revision
from builds.guides.parts_import.errors import UnreadableFile
from builds.guides.text_import.uploads import forget_upload, store_upload, stored_upload
from builds.ui.paging import Pages, page_number

KITS_A_PAGE = 50
USUAL_MAINS = ((230, 50), (120, 60), (240, 50), (220, 50), (220, 60), (127, 60), (100, 50), (100, 60))
SHOWN = 8  # problems of a circuit told at once after an import


class ImportForm(forms.Form):
    guide = forms.FileField(
        label=gettext_lazy("Guide file"),
        help_text=gettext_lazy("A guide.toml, or a zip of guide.toml with its pictures and translations."),
    )

    def clean_guide(self):
        file = self.cleaned_data["guide"]
        if file.size > settings.GUIDE_MAX_BYTES:
            raise forms.ValidationError(_("This file is larger than 60 MB."), code="size")
        return file


def _mains_choices() -> list:
    """ "230-50": the usual supplies first (IEC 60038 and common practice), then every other that a guide may name."""
    every = [(volts, hertz) for volts in MAINS_VOLTS for hertz in MAINS_HERTZ]
    named = [(f"{volts}-{hertz}", f"{volts} V, {hertz} Hz") for volts, hertz in (*USUAL_MAINS, *every)]
    usual = named[: len(USUAL_MAINS)]
    others = [choice for choice in named[len(usual) :] if choice not in usual]
    return [("", gettext_lazy("Choose…")), (gettext_lazy("Usual"), usual), (gettext_lazy("Others"), others)]


class KitForm(forms.Form):
    name = forms.CharField(max_length=120, label=gettext_lazy("Name of the kit"))
    key = forms.SlugField(
        max_length=60,
        required=False,
        label=gettext_lazy("Short name in addresses"),
        help_text=gettext_lazy("Lower-case letters, digits and hyphens, such as five-watt. Blank: made from the name."),
    )
    mains = forms.ChoiceField(
        choices=_mains_choices,
        label=gettext_lazy("Mains the kit is made for"),
        help_text=gettext_lazy("Nominal voltage and frequency. Expected values and stop limits are worked out for it."),
    )

    def clean_key(self):
        key = (self.cleaned_data["key"] or slugify(self.cleaned_data.get("name", ""))[:60]).lower()
        if not key:
            raise forms.ValidationError(_("Give a short name, such as five-watt."), code="required")
        if key in RESERVED:
            raise forms.ValidationError(
                _("This is reserved for the addresses of this site. Choose another name."), code="reserved"
            )
        if Kit.objects.filter(key=key).exists():
            raise forms.ValidationError(_("Another kit has this short name. Choose another one."), code="taken")
        return key


@may_design
@require_safe
def kits(request):
    mine = Kit.objects.designed_by(request.user).order_by("name", "pk")
    pages = Pages(page_number(request), mine.count(), KITS_A_PAGE)
    revisions = (
        Revision.objects.filter(kit__in=[kit.pk for kit in pages.of(mine)])
        .select_related("kit")
        .annotate(all_builds=Count("builds"))
        .order_by("kit__name", "kit", "letter")
    )
    return render(request, "guides/kits.html", {"revisions": revisions, "pages": pages})


@may_design
@require_http_methods(["GET", "HEAD", "POST"])
@limited("import")
def import_guide(request):
    form, problems = ImportForm(request.POST or None, request.FILES or None), ()
    if request.method == "POST" and form.is_valid():
        file = form.cleaned_data["guide"]
        raw = file.read()
        try:
            if draft := find_draft(raw, request.user):
                return _over_page(request, draft, raw)
            data = read_guide(raw, file.name)
            _may_add_to(request.user, data["kit"]["key"])
            revision = store_guide(data, request.user)
            done = _("Imported as a draft: %(parts)d parts, %(stages)d stages.")
            messages.success(request, done % {"parts": len(data["part"]), "stages": len(data["stage"])})
            if "mains" not in data["kit"]:
                params = {"volts": revision.mains_volts, "hertz": revision.mains_hertz}
                messages.warning(
                    request,
                    _("The file does not state the mains supply. Check it: %(volts)d V, %(hertz)d Hz.") % params,
                )
            _warn(request, circuit_warnings(raw))
            return redirect("guides:revision", revision.kit.key, revision.letter)
        except GuideErrors as error:
            problems = error.problems
    return render(
        request,
        "guides/import.html",
        {"form": form, "problems": problems},
        status=422 if request.method == "POST" else 200,
    )


def _over_page(request, draft, raw, token: str = ""):
    """What a file would change in the draft of its own name."""
    data = read_over(raw, draft)
    return render(
        request,
        "guides/import-over.html",
        {
            "revision": draft,
            "token": token or store_upload(draft, raw),
            "version": version(draft),
            "differences": changes(draft, data),
            "pictures": pictures_changed(draft, data),
        },
    )


@may_design
@require_POST
@limited("import")
def import_over_draft(request, kit, letter):
    """Carry out what `import_guide` has shown."""
    draft = access.draft_revision(request.user, kit, letter)
    token = request.POST.get("token", "")
    try:
        raw = stored_upload(draft, token)
        data = read_over(raw, draft)
        if not import_over(draft, request.user, data, request.POST.get("version", "")):
            messages.warning(request, _("The draft was edited in the meantime. Look at what would change now."))
            return _over_page(request, draft, raw, token)
    except (UnreadableFile, GuideErrors) as error:
        messages.error(request, str(error))
        return redirect("guides:import")
    forget_upload(draft, token)
    messages.success(request, _("Imported over the draft."))
    _warn(request, circuit_warnings(raw))
    return redirect("guides:revision", kit, letter)


def _warn(request, problems):
    for problem in problems[:SHOWN]:
        messages.warning(request, f"{problem.key}: {problem.message}")
    if len(problems) > SHOWN:
        more = len(problems) - SHOWN
        warning = ngettext("%(n)d more warning is listed below.", "%(n)d more warnings are listed below.", more)
        messages.warning(request, warning % {"n": more})


def _may_add_to(person, key):
    if not person.may_design and not Kit.objects.designed_by(person).filter(key=key).exists():
        raise PermissionDenied(_("You can add revisions to your own kits, but no new kits."))


@may_design
@require_http_methods(["GET", "HEAD", "POST"])
def new_kit(request):
    if not request.user.may_design:
        raise PermissionDenied(_("You can edit your kits, but not create new ones."))
    form = KitForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        with transaction.atomic():
            kit = Kit.objects.create(name=form.cleaned_data["name"], key=form.cleaned_data["key"])
            kit.designers.add(request.user)
            volts, hertz = map(int, form.cleaned_data["mains"].split("-"))
            revision = Revision.objects.create(kit=kit, letter="A", name=kit.name, mains_volts=volts, mains_hertz=hertz)
        return redirect("guides:revision", kit.key, revision.letter)
    return render(request, "guides/new-kit.html", {"form": form}, status=422 if request.method == "POST" else 200)
