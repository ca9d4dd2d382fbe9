"""Answers that are files."""
from django.http import HttpResponse


def named(answer, name):
    """A download of this name, kept by nobody on the way."""
    answer["Content-Disposition"] = f'attachment; filename="{name}"'
    answer["Cache-Control"] = "private, no-store"
    return answer


def pdf_answer(raw, name):
    return named(HttpResponse(raw, content_type="application/pdf"), name)
