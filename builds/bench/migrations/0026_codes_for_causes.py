"""Confirmed causes and extra readings keep codes; their sentences are made when they are shown.

An old cause gets the code of the fault whose English sentence it kept, from the fault dictionaries that are stored. One
that is in none of them keeps its words, as the designer's own do.
"""

import io
import json

import numpy as np
from django.db import migrations, models
from django.utils import translation

from builds.ui.messages.faults import fault_sentence
from checks.diagnosis.codes import FaultCode
from checks.diagnosis.fault import Fault

END_TO_END = ", end to end"


def faults_in(data: bytes):
    """The faults of a stored dictionary that the designer has not worded."""
    with np.load(io.BytesIO(data), allow_pickle=False) as stored:
        rows = json.loads(str(stored["text"]))["faults"]
    for key, words, _kind, refs, _weight, _look, code, params, *_sizes in rows:
        if not words:
            yield Fault(key, "", "", tuple(refs), 1.0, code=FaultCode(code), params=params)


def code_of(row, faults: list[Fault]) -> Fault | None:
    """The fault that an old row names: the same key, and the sentence it kept."""
    with translation.override("en-gb"):
        return next((f for f in faults if f.key == row.fault and fault_sentence(f) == row.words), None)


def convert_causes(apps, schema_editor):
    rows = list(apps.get_model("bench", "ConfirmedFault").objects.all())
    if not rows:
        return
    faults: list[Fault] = []
    for data in apps.get_model("guides", "StoredFaultDictionary").objects.values_list("data", flat=True):
        try:
            faults += faults_in(bytes(data))
        except (ValueError, KeyError, OSError):  # of a version that is read no more
            continue
    for row in rows:
        if fault := code_of(row, faults):
            row.code, row.params, row.words = fault.code.value, {**fault.params, "refs": list(fault.refs)}, ""
            row.save(update_fields=["code", "params", "words"])


def convert_extras(apps, schema_editor):
    for row in apps.get_model("bench", "ExtraReading").objects.filter(words__endswith=END_TO_END):
        row.part = row.words.removesuffix(END_TO_END)
        row.save(update_fields=["part"])


class Migration(migrations.Migration):
    dependencies = [("bench", "0025_recordings"), ("guides", "0007_stored_fault_dictionary")]

    operations = [
        migrations.AddField("confirmedfault", "code", models.CharField(max_length=40, default=FaultCode.OWN.value)),
        migrations.AddField("confirmedfault", "params", models.JSONField(default=dict, blank=True)),
        migrations.AlterField("confirmedfault", "words", models.CharField(max_length=300, blank=True)),
        migrations.RunPython(convert_causes, migrations.RunPython.noop),
        migrations.AddField("extrareading", "part", models.CharField(max_length=20, blank=True, default="")),
        migrations.AlterField("extrareading", "part", models.CharField(max_length=20, blank=True)),
        migrations.RunPython(convert_extras, migrations.RunPython.noop),
        migrations.RemoveField("extrareading", "words"),
    ]
