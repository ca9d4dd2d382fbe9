"""Answers that are files."""

from django.http import HttpResponse
from django.utils.http import content_disposition_header


def name_download(answer, name):
    """A download of this name, kept by nobody on the way."""
    answer["Content-Disposition"] = content_disposition_header(True, name)
    answer["Cache-Control"] = "private, no-store"
    return answer


def pdf_answer(raw, name):
    return name_download(HttpResponse(raw, content_type="application/pdf"), name)
