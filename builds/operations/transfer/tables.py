"""What belongs to a kit: the tables that travel, in the order in which their rows can be added, and what stays."""

from django.apps import apps
from django.db.models import Q

# table -> how its rows find their kit
PATHS = {
    "guides.Kit": ("",),
    "guides.CircuitFigures": ("revisions__kit", "builds__revision__kit"),
    "guides.Revision": ("kit",),
    "guides.Picture": ("revision__kit",),
    "guides.Point": ("revision__kit",),
    "guides.Part": ("revision__kit",),
    "guides.Stage": ("revision__kit",),
    "guides.Step": ("stage__revision__kit",),
    "guides.Check": ("stage__revision__kit",),
    "guides.FigureCorrection": ("check_row__stage__revision__kit",),
    "accounts.Meter": (
        "builds__revision__kit",
        "self_checks__build__revision__kit",
        "past_benches__build__revision__kit",
    ),
    "bench.Build": ("revision__kit",),
    "bench.PastBench": ("build__revision__kit",),
    "bench.Sitting": ("build__revision__kit",),
    "bench.Acknowledgement": ("sitting__build__revision__kit",),
    "bench.Tick": ("build__revision__kit",),
    "bench.StageVisit": ("build__revision__kit",),
    "bench.ConfirmedFault": ("build__revision__kit",),
    "bench.Erratum": ("revision__kit",),
    "bench.ErratumSeen": ("build__revision__kit",),
    "bench.Halt": ("stage__revision__kit",),
    "bench.ExtraReading": ("build__revision__kit",),
    "bench.MeterCheck": ("build__revision__kit",),
    "bench.Reading": ("build__revision__kit",),
    "bench.CheckStatus": ("build__revision__kit",),
    "bench.Concession": ("build__revision__kit",),
    "bench.MadeSafe": ("build__revision__kit",),
    "bench.MoveOffer": ("build__revision__kit",),
    "bench.Move": ("build__revision__kit",),
    "bench.Carried": ("build__revision__kit",),
    "bench.PartSwap": ("build__revision__kit",),
    "bench.PartFound": ("build__revision__kit",),
    "bench.PowerOn": ("build__revision__kit",),
    "bench.Snag": ("build__revision__kit",),
    "bench.Message": ("snag__build__revision__kit",),
    "bench.Photo": ("build__revision__kit",),
    "bench.Receipt": ("build__revision__kit",),
    "bench.Recording": ("build__revision__kit",),
    "bench.Sheet": ("build__revision__kit",),
    "bench.FittedValve": ("build__revision__kit",),
    "bench.ValveTest": ("build__revision__kit",),
    "review.PartBatch": ("revision__kit",),
    "review.Decision": ("revision__kit",),
    "review.IssuedChanges": ("revision__kit",),
    "review.ReferenceBuild": ("revision__kit",),
    "review.ReleaseCriteria": ("kit",),
    "review.Triage": ("build__revision__kit", "snag__build__revision__kit"),
    "accounts.Event": ("",),  # by the kit's key
}
LEFT_OUT = {
    "accounts.Person": "people travel by name (people.py)",
    "guides.KitRole": "travels with the people",
    "guides.KitOffer": "an offer is answered where it was made",
    "guides.DraftEdit": "what can be undone of a draft stays where it was done",
    "guides.StoredFaultDictionary": "made again where it is wanted",
    "review.CachedCorrelations": "made again where they are wanted",
    "review.CachedFinding": "made again where it is wanted",
    "accounts.Invitation": "a link opens the site that made it",
    "accounts.Device": "a signed-in browser of this site",
    "accounts.CallCount": "limits of this site",
}
LATER = {"guides.Revision": ("cloned_from",), "bench.Snag": ("merged_into",)}  # to rows of their own table
MANY = {"bench.Sheet": ("readings",), "review.PartBatch": ("builds",), "review.IssuedChanges": ("snags",)}
DROPPED = {"bench.Build": ("invitation",)}  # never written, empty where it is read in


def models():
    """(label, model), in order."""
    return [(label, apps.get_model(label)) for label in PATHS]


def list_rows(label: str, kit):
    """The rows of a table that belong to the kit, each once, in the order in which they were made."""
    model = apps.get_model(label)
    if label == "accounts.Event":
        rows = model.objects.filter(kit=kit.key)
    else:
        belongs = Q()
        for path in PATHS[label]:
            belongs |= Q(**{path or "pk": kit.pk})
        rows = model._base_manager.filter(pk__in=model._base_manager.filter(belongs).order_by().values("pk"))
    return rows.order_by("pk")


def list_fields(label: str) -> list:
    """The columns that travel, without the row's number."""
    dropped = DROPPED.get(label, ())
    model = apps.get_model(label)
    return [f for f in model._meta.concrete_fields if not f.primary_key and f.name not in dropped]
