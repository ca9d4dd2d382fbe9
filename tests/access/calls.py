"""For every address of the site: who has a right to it, and one call of theirs that must succeed.

A call that is refused to everybody proves nothing about the strangers it is refused to; so each address is first called
by its rightful person, with rows that are there and a form that is complete.
"""

from dataclasses import dataclass, field
from io import BytesIO
from uuid import uuid4

import numpy as np
import soundfile
from django.core import signing
from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image

from builds.accounts.confirming import token_for
from builds.accounts.links import invitation_link
from builds.guides.blocks.catalogue import BLOCKS
from builds.guides.guide_file.import_over import version
from builds.guides.pictures.editing import frame_version
from builds.guides.text_import.uploads import store_upload
from builds.notifications.emails import SALT
from tests.access.book import FAULT, PLACE
from tests.builds.guides.test_circuit import GUIDE

ANYONE, OWN, BUILDER, BUILD, DESIGNERS, KIT = "anyone", "own", "builder", "build", "designers", "kit"
OWNER, SITE, TOKEN, MAKERS = "owner", "site", "token", "makers"
TEAM = {"owner", "editor", "reader"}
EVERYBODY = {"builder", "builder of another build", "builder elsewhere", "other designer", "who runs the site", *TEAM}
HAVE = {  # roles that each kind of address is open to
    ANYONE: {"anonymous", *EVERYBODY},
    OWN: EVERYBODY,
    BUILDER: {"builder"},
    BUILD: {"builder", *TEAM},
    DESIGNERS: {"other designer", *TEAM},
    MAKERS: {"other designer", "owner"},  # who edits or reads a kit of another makes none
    KIT: TEAM,  # a reader changes nothing: test_access tries
    OWNER: {"owner"},
    SITE: {"who runs the site"},
    TOKEN: set(),  # by a token alone, whoever is signed in
}
FIRST = {
    ANYONE: "anonymous",
    OWN: "builder",
    BUILDER: "builder",
    BUILD: "builder",
    DESIGNERS: "owner",
    MAKERS: "owner",
    KIT: "owner",
    OWNER: "owner",
    SITE: "who runs the site",
    TOKEN: "builder",
}


@dataclass(frozen=True)
class Call:
    """`data`: the fields of a post, from the cast; a dictionary makes it a post. `at`: arguments of the address that
    differ from the usual ones. `status`: what success is."""

    whose: str
    data: object = None
    status: int = 0
    at: dict = field(default_factory=dict)
    by: str = ""
    htmx: bool = False

    @property
    def method(self) -> str:
        return "get" if self.data is None else "post"

    @property
    def success(self) -> int:
        return self.status or (200 if self.data is None else 302)

    @property
    def role(self) -> str:
        return self.by or FIRST[self.whose]


TESTED = {  # a published point of the ECC83, from memory
    "section": "V1",
    "type": "ECC83",
    "anode_volts": "250",
    "grid_volts": "-2",
    "milliamps": "1.2",
    "slope": "1.6",
    "accuracy": "5",
}


def image(name="photo.png", size=(20, 20)) -> SimpleUploadedFile:
    out = BytesIO()
    Image.new("RGB", size, "grey").save(out, "PNG")
    return SimpleUploadedFile(name, out.getvalue(), content_type="image/png")


def sound() -> SimpleUploadedFile:
    out = BytesIO()
    soundfile.write(out, np.zeros(48_000), 48_000, format="WAV")
    return SimpleUploadedFile("take.wav", out.getvalue(), content_type="audio/wav")


def key() -> dict:
    return {"entry_key": str(uuid4())}


def _place(cast):
    frame = frame_version(cast.draft.pictures.get(name="x.png"))
    return {"point": cast.draft_check.red, "across": "10", "down": "20", "frame": frame}


def import_of(draft) -> dict:
    """A file that was shown before it is imported over the draft of its name."""
    text = GUIDE.replace('key = "divider"', f'key = "{draft.kit.key}"').replace('revision = "A"', 'revision = "C"')
    return {"token": store_upload(draft, text.encode()), "version": version(draft)}


def arguments(cast, name: str) -> dict:
    """What the address's arguments are, unless its call says otherwise."""
    drafts = name.startswith("guides:") and name not in ISSUED
    stage, check, step = (
        (cast.draft_stage, cast.draft_check, cast.draft_step) if drafts else (cast.stage, cast.check, cast.step)
    )
    review = name.startswith("review:")
    return {
        "kit": cast.revision.kit.key,
        "letter": "C" if drafts else "A",
        "other": "B",
        "stage": stage.key,
        "key": stage.key,
        "step": step.key,
        "check": check.pk if review else check.key,
        "name": "x.png",
        "form": "toml",
        "kind": "stage" if drafts else "voltage",
        "size": "thumb",
        "photo": cast.photo.pk,
        "confirmed": cast.fault.pk,
        "erratum": cast.erratum.pk,
        "swap": cast.swap.pk,
        "number": 1,
        "recording": cast.recording.pk,
        "token": cast.token,
        "snag": cast.snag.pk,
        "pk": stage.pk if drafts else cast.build.pk,
    }


ISSUED = {"guides:export", "guides:withdraw", "guides:clone", "guides:compare", "guides:picture", "guides:revision"}
ISSUED |= {"guides:schematic", "guides:schematic-file"}
# Pages of one build.
GET_BUILDER = (
    "build errata meter-check valves move make-safe snag stage new-snag check readings find designer own-photo grid "
    "sheet"
)
GET_KIT = {
    "guides": "revision find export circuit compare picture preview parts-import parts-grid wiring blocks proposals "
    "checks-grid",
    "review": "recordings build charts programme dashboard builds batches problems faults findings coverage errata "
    "changes release",
    "reports": "specification specification-pdf specification-json "
    "summary pdf stage stage-pdf csv changes-csv json archive fetch-archive",
}
STEP = {"kind": "step"}


def _by_pk(of):
    return {"pk": of}


CALLS: dict[str, Call] = {
    **{f"bench:{name}": Call(BUILDER) for name in GET_BUILDER.split()},
    **{f"{app}:{name}": Call(KIT) for app, names in GET_KIT.items() for name in names.split()},
    "home": Call(OWN, status=302),
    "accounts:sign-in": Call(ANYONE),
    "accounts:sign-out": Call(ANYONE, {}),
    "accounts:safety": Call(ANYONE),
    "accounts:glossary": Call(ANYONE),
    "accounts:aids": Call(ANYONE),
    "offline:worker": Call(ANYONE),
    "offline:manifest": Call(ANYONE),
    "offline:not-sent": Call(ANYONE),
    "offline:words": Call(ANYONE),
    "offline:connected": Call(ANYONE),
    "bench:copy": Call(BUILDER),
    "bench:notebook": Call(BUILDER),
    "bench:entries": Call(BUILDER),
    "accounts:forgotten": Call(ANYONE),
    "accounts:forgotten-sent": Call(ANYONE),
    "accounts:invitation": Call(ANYONE),
    "accounts:second-factor-code": Call(ANYONE, status=302),
    "accounts:account": Call(OWN),
    "accounts:password": Call(OWN),
    "accounts:address": Call(OWN),
    "accounts:send-confirmation": Call(OWN, {}),
    "accounts:confirm-address": Call(BUILDER, at={"token": lambda c: token_for(c.builder)}),
    "accounts:second-factor": Call(OWN),
    "accounts:second-factor-off": Call(OWN),
    "accounts:sign-out-device": Call(BUILDER, {}, at=_by_pk(lambda c: c.device.pk)),
    "accounts:sign-out-others": Call(OWN, {}),
    "accounts:close": Call(OWN),
    "notifications:stop": Call(ANYONE, at={"token": lambda c: signing.dumps(c.builder.pk, salt=SALT)}),
    "accounts:preferences": Call(OWN),
    "accounts:meters": Call(OWN),
    "accounts:retire-meter": Call(BUILDER, {}, at=_by_pk(lambda c: c.build.meter_id)),
    "notifications:mail": Call(OWN),
    "bench:builds": Call(OWN),
    "bench:photo": Call(BUILD),
    "bench:picture": Call(BUILD),
    "bench:charts": Call(BUILD),
    "bench:cautions": Call(BUILDER),
    "bench:stop": Call(BUILDER, at=_by_pk(lambda c: c.stopped.pk)),
    "bench:settings": Call(BUILDER, lambda c: {"mains_volts": 230, "mains_hertz": 50, "meter": c.build.meter_id}),
    "bench:end-sitting": Call(BUILDER, {}),
    "bench:finish": Call(BUILDER, {}, at=_by_pk(lambda c: c.ready.pk)),
    "bench:confirm-erratum": Call(BUILDER, {}),
    "bench:take-move": Call(BUILDER, {}),
    "bench:decline-move": Call(BUILDER, {}),
    "bench:switch-on": Call(BUILDER, lambda c: key(), at={"key": "stage-2"} | _by_pk(lambda c: c.done.pk)),
    "bench:swapped": Call(BUILDER, {}),
    "bench:tick": Call(BUILDER, {}),
    "bench:add-photo": Call(BUILDER, lambda c: key() | {"photo": image()}),
    "bench:add-stage-photo": Call(BUILDER, lambda c: key() | {"photo": image()}),
    "bench:add-check-photo": Call(BUILDER, lambda c: key() | {"photo": image()}),
    "bench:recordings": Call(BUILDER),
    "review:add-recordings": Call(KIT, lambda c: key() | {"files": sound(), "build": c.build.pk}, status=200),
    "review:reference": Call(KIT, lambda c: {"build": c.build.pk}),
    "bench:signal": Call(BUILD),
    "bench:recording": Call(BUILD),
    "bench:loopback": Call(BUILDER),
    "bench:add-loopback": Call(BUILDER, lambda c: key() | {"file": sound()}),
    "bench:add-recording": Call(BUILDER, lambda c: key() | {"file": sound()}),
    "bench:withdraw-photo": Call(BUILDER, {}),
    "bench:reading": Call(BUILDER, lambda c: key() | {"typed": "300", "unit": "V"}),
    "bench:fast-track": Call(BUILDER, {"on": "yes"}),
    "bench:tick-steps": Call(BUILDER, {"step": "step-1-1"}),
    "bench:grid-reading": Call(BUILDER, lambda c: key() | {"typed": "300", "unit": "V"}),
    "bench:extra": Call(BUILDER, lambda c: key() | {"place": PLACE.name, "typed": "10k"}),
    "bench:parts": Call(BUILD),
    "bench:map": Call(BUILD),
    "bench:schematic-file": Call(BUILD),
    "review:map": Call(KIT),
    "guides:schematic": Call(KIT),
    "guides:schematic-file": Call(KIT),
    "guides:wiring-drawing": Call(KIT, {}, 200),
    "guides:place-points": Call(KIT, _place),
    "guides:replace": Call(KIT),
    "guides:copy-from": Call(KIT),
    "reports:parts-pdf": Call(KIT),
    "reports:bag-labels": Call(KIT),
    "reports:build-parts": Call(BUILD),
    "guides:undo": Call(KIT),
    "guides:text-import": Call(KIT),
    "guides:import-over": Call(KIT, lambda c: import_of(c.draft)),
    "reports:guide-pdf": Call(KIT),
    "reports:guide-html": Call(KIT),
    "guides:people": Call(OWNER),
    "guides:offers": Call(OWN),
    "guides:answer-offer": Call(BUILDER, {"do": "accept"}, at=_by_pk(lambda c: c.kit_offer.pk)),
    "guides:withdraw-offer": Call(OWNER, {}, at=_by_pk(lambda c: c.kit_offer.pk)),
    "guides:change-person": Call(OWNER, {"do": "editor"}, at=_by_pk(lambda c: c.reader.pk)),
    "operations:alive": Call(ANYONE),
    "operations:ready": Call(ANYONE),
    "operations:metrics": Call(ANYONE),
    "operations:status": Call(SITE),
    "operations:tokens": Call(OWN),
    "operations:withdraw-token": Call(BUILDER, {}, at=_by_pk(lambda c: c.tokens["builder"].pk)),
    "operations:api-document": Call(TOKEN),
    "operations:api-kits": Call(TOKEN, by="owner"),
    "operations:api-builds": Call(TOKEN),
    "operations:api-readings": Call(TOKEN),
    "operations:api-revision-readings": Call(TOKEN, by="owner"),
    "operations:api-findings": Call(TOKEN, by="reader"),
    "operations:api-post-reading": Call(TOKEN, lambda c: key() | {"typed": "300", "unit": "V"}, 201),
    "guides:delete-draft": Call(KIT),
    "guides:wire-list": Call(KIT, {"wires": ""}),
    "guides:block": Call(KIT, at={"key": next(iter(BLOCKS))}),
    "guides:kits": Call(DESIGNERS),
    "guides:import": Call(DESIGNERS),
    "guides:new-kit": Call(MAKERS),
    "guides:issue": Call(KIT, {"reason": "An invented kit."}),
    "guides:withdraw": Call(KIT, {}),
    "guides:clone": Call(KIT, {}),
    "guides:circuit-again": Call(KIT, {}),
    "guides:circuit-of": Call(KIT, at=_by_pk(lambda c: c.draft_check.pk), htmx=True),
    "guides:circuit-take": Call(KIT, {"as": "prototype"}, 409, _by_pk(lambda c: c.draft_check.pk)),
    "guides:add-picture": Call(KIT, lambda c: {"picture": image("y.png")}),
    "guides:edit-picture": Call(KIT),
    "guides:delete-picture": Call(KIT, {}),
    "guides:contact": Call(KIT),
    "guides:edit-head": Call(KIT),
    "guides:preview-row": Call(KIT, {"key": "step-1-1", "text": "Do it."}, 200, STEP),
    "guides:add": Call(KIT),
    "guides:add-inner": Call(KIT, at=STEP),
    "guides:edit": Call(KIT),
    "guides:edit-inner": Call(KIT, at=STEP | _by_pk(lambda c: c.draft_step.pk)),
    "guides:move": Call(KIT, {"to": "down"}),
    "guides:move-inner": Call(KIT, {"to": "down"}, at=STEP | _by_pk(lambda c: c.draft_step.pk)),
    "guides:delete": Call(KIT),
    "guides:delete-inner": Call(KIT, at=STEP | _by_pk(lambda c: c.draft_step.pk)),
    "review:programmes": Call(DESIGNERS),
    "review:troubles": Call(KIT, status=302),
    "review:concede": Call(KIT, {"reason": "The meter is old."}),
    "review:build-valves": Call(KIT, lambda c: key() | TESTED),
    "review:take-back-valve-test": Call(KIT, {"ref": "V1", "section": ""}),
    "review:renew": Call(KIT, {}, 200, _by_pk(lambda c: c.free.pk)),
    "review:remove-builder": Call(KIT),
    "review:revoke": Call(KIT, {}, at=_by_pk(lambda c: c.free.pk)),
    "review:offer-move": Call(KIT, at={"letter": "B"}),
    "review:deviation": Call(KIT),
    "review:confirm-fault": Call(KIT, {"fault": FAULT.key}),
    "review:take-back-fault": Call(KIT, {}),
    "review:snag": Call(KIT, at=_by_pk(lambda c: c.snag.pk)),
    "review:merge": Call(KIT, lambda c: {"into": c.same_snag.pk}, at=_by_pk(lambda c: c.snag.pk)),
    "review:take-apart": Call(KIT, {}, at=_by_pk(lambda c: c.snag.pk)),
    "review:check": Call(KIT, at=_by_pk(lambda c: c.check.pk)),
    "review:photos": Call(KIT),
    "review:step-photos": Call(KIT),
    "review:take-away-batch": Call(KIT, {}, at=_by_pk(lambda c: c.batch.pk)),
    "review:decide-check": Call(KIT, {"state": "rejected", "reason": "No."}, at=_by_pk(lambda c: c.check.pk)),
    "review:decide-snag": Call(KIT, {"state": "rejected", "reason": "No."}, at=_by_pk(lambda c: c.snag.pk)),
    "review:faults-again": Call(KIT, {}),
    "review:withdraw-erratum": Call(KIT, {}, at=_by_pk(lambda c: c.erratum.pk)),
    "review:halt": Call(KIT, lambda c: {"stage": c.stage.pk, "reason": "A wrong drawing"}),
    "review:lift": Call(KIT, {}, at=_by_pk(lambda c: c.halt.pk)),
    "reports:make-archive": Call(KIT, {}),
    "reports:build-record": Call(BUILD),
    "reports:worksheet": Call(BUILD),
    "reports:worksheet-pdf": Call(BUILD),
    "reports:packing-slip": Call(KIT, lambda c: {"link": invitation_link(c.token)}, 200, _by_pk(lambda c: c.free.pk)),
}
