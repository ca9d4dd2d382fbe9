"""The book of faults of a guide's circuit: prepared by a worker, kept as arrays, read back for the bench."""

import hashlib
import io
import json
from dataclasses import asdict
from functools import lru_cache

import numpy as np

from builds.guides.circuit.content import build_content, make_key
from builds.guides.circuit.own_faults import with_usual
from builds.guides.circuit.specs import list_specs
from builds.guides.figures import FIGURES, is_model, read_band
from builds.guides.guide_cache import load_guide
from builds.guides.models import Revision, StoredFaultDictionary
from builds.guides.soldering import waiting_parts
from builds.jobs import queue
from builds.jobs.registry import job
from builds.ui.problem_rows import problem_row, read_error
from checks.circuit import Probe
from checks.circuit.netlist.remark import Remark, RemarkCode
from checks.diagnosis import Fault, Prepared, prepare
from checks.diagnosis.bounds import LeftOut
from checks.diagnosis.codes import FaultCode
from checks.diagnosis.place import Place
from checks.diagnosis.unsolved import Unsolved
from checks.errors import ChecksError

KIND, VERSION = "faults", 30
ARRAYS = (
    *("units", "nominal", "exponents", "mean", "scatter", "source"),
    *("size_mean", "size_span", "late", "drift", "least_through"),
)
FLAGS = ("early", "split", "turned_on")


def key_for(revision, guide=None) -> str:
    """The circuit's content (of `guide`, if at hand) with the designer's own faults, hashed."""
    guide = guide or load_guide(revision)
    content = build_content(revision, guide)
    order = waiting_parts(guide), list_figures(guide)
    text = json.dumps([VERSION, make_key(content), revision.own_faults, *order], sort_keys=True)
    return hashlib.sha256(text.encode()).hexdigest()


def list_faults(revision):
    """The faults of a revision's circuit, the designer's own last. Raises ChecksError."""
    return with_usual(list_specs(load_guide(revision)), revision.own_faults or [])


def list_figures(guide) -> dict[str, dict[str, float]]:
    """Stage key -> check key -> the figure the designer gives, in SI, to two digits; none that is left to the model.
    They tell which of the parts that a later stage solders in are there already."""
    return {stage.key: dict(_figures(stage)) for stage in guide.stages}


def _figures(stage):
    for check in stage.checks.all():
        figure = None if is_model(check) else _figure(check)
        if figure is not None:
            yield check.key, float(f"{figure:.2g}")


def _figure(check) -> float | None:
    """As it was typed: whatever is known of the circuit by now, the dictionary's key stays the same."""
    try:
        band = read_band(check.unit, check.expected, {name: getattr(check, name) for name in FIGURES}, None)
    except ChecksError:
        return None
    return band.expected if band else None


@job(KIND)
def make_book(report, revision_pk: int, key: str) -> str:
    store_fault_dictionary(Revision.objects.get(pk=revision_pk), report)
    return key


def store_fault_dictionary(
    revision, report=lambda done, total, step="", **params: None, **more
) -> StoredFaultDictionary:
    """Prepare and keep. Raises ChecksError for a circuit that cannot be solved."""
    stored = StoredFaultDictionary.objects.filter(key=key_for(revision)).first()
    if stored:
        return stored
    data = prepare_packed(revision, load_guide(revision), report, **more)
    return StoredFaultDictionary.objects.get_or_create(key=key_for(revision), defaults={"data": data})[0]


def prepare_packed(revision, guide, report, **more) -> bytes:
    """The dictionary as it is kept."""
    content, waiting, figures = build_content(revision, guide), waiting_parts(guide), list_figures(guide)
    made = prepare(
        list_specs(guide),
        [stage | {"waiting": waiting[stage["key"]], "figures": figures[stage["key"]]} for stage in content["stages"]],
        content["mains"],
        faults=list_faults(revision),
        report=report,
        **more,
    )
    return _packed(made)


def request_fault_dictionary(revision):
    """(Prepared, None), or (None, the job that makes it). Never waits."""
    key = key_for(revision)
    stored = load_fault_dictionary(revision, key)
    if stored:
        return stored, None
    made = queue.start(KIND, key, revision.pk, key)
    if made.state != made.State.DONE:
        return None, made
    stored = load_fault_dictionary(revision, key)  # done at once, or for the same content of another revision
    return (stored, None) if stored else (None, queue.start(KIND, key, revision.pk, key, restart=True))


def load_fault_dictionary(revision, key: str = "") -> Prepared | None:
    """The prepared book of a revision, None while there is none. Kept in memory once read: books never change."""
    key = key or (_key_once(revision.pk, revision.issued_at) if not revision.is_draft else key_for(revision))
    return _read(key) if StoredFaultDictionary.objects.filter(key=key).exists() else None


@lru_cache(maxsize=16)
def _key_once(pk, issued_at) -> str:
    return key_for(Revision.objects.get(pk=pk))


@lru_cache(maxsize=4)
def _read(key: str) -> Prepared:
    return _unpacked(bytes(StoredFaultDictionary.objects.get(key=key).data))


def _packed(made: Prepared) -> bytes:
    out = io.BytesIO()
    places = [[p.stage, p.check, asdict(p.probe), p.power, p.title, p.part] for p in made.places]
    faults = [
        [f.key, f.words, f.kind, list(f.refs), f.weight, f.look, f.code.value, f.params, list(f.sizes)]
        for f in made.faults
    ]
    texts = {
        "places": places,
        "faults": faults,
        "left_out": asdict(made.left_out),
        "unsolved": [[one.fault, _find_row(one.why)] for one in made.unsolved],
    }
    np.savez_compressed(
        out,
        text=np.array(json.dumps(texts)),
        size_row=made.size_row.astype(np.int32),
        **{name: getattr(made, name).astype(np.float32) for name in ARRAYS},
        **{name: getattr(made, name) for name in FLAGS},
    )
    return out.getvalue()


def _unpacked(data: bytes) -> Prepared:
    """Faults come back without their change of the circuit, which only preparing needs."""
    with np.load(io.BytesIO(data), allow_pickle=False) as stored:
        text = json.loads(str(stored["text"]))
        arrays = {name: stored[name].astype(np.float64) for name in ARRAYS} | {name: stored[name] for name in FLAGS}
        arrays["size_row"] = stored["size_row"].astype(int)
    places = tuple(
        Place(stage, check, Probe(**probe), power, title, part)
        for stage, check, probe, power, title, part in text["places"]
    )
    faults = tuple(
        Fault(
            key,
            text_of_fault,
            kind,
            tuple(refs),
            weight,
            look=look,
            code=FaultCode(code),
            params=params,
            sizes=tuple(sizes),
        )
        for key, text_of_fault, kind, refs, weight, look, code, params, sizes in text["faults"]
    )
    return Prepared(
        faults,
        places,
        **arrays,
        left_out=LeftOut(**text["left_out"]),
        unsolved=tuple(Unsolved(key, _read_reason(row)) for key, row in text["unsolved"]),
    )


def _find_row(why: Remark | ChecksError) -> dict:
    return problem_row(why) if isinstance(why, ChecksError) else why.as_dict()


def _read_reason(row: dict) -> Remark | ChecksError:
    return read_error(row) if "text" in row else Remark(RemarkCode(row["code"]), row["params"])
