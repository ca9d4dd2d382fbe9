"""The API described as an OpenAPI 3.1 document."""

_TEXT, _WHOLE, _NUMBER = {"type": "string"}, {"type": "integer"}, {"type": ["number", "null"]}
_MOMENT = {"type": ["string", "null"], "format": "date-time"}


def _object(**properties) -> dict:
    return {"type": "object", "required": [*properties], "properties": properties}


READING = _object(
    id=_WHOLE,
    build=_WHOLE,
    serial=_TEXT,
    stage=_TEXT,
    check=_TEXT,
    measure=_TEXT,
    attempt=_WHOLE,
    typed=_TEXT,
    value=_NUMBER,
    value_unit=_TEXT,
    u=_NUMBER,
    low=_NUMBER,
    high=_NUMBER,
    outcome=_TEXT,
    reason=_TEXT,
    outdated={"type": "boolean"},
    figures_corrected={"type": "boolean"},
    at=_MOMENT,
)
KIT = _object(key=_TEXT, name=_TEXT, revisions={"type": "array", "items": _object(letter=_TEXT, state=_TEXT)})
BUILD = _object(
    id=_WHOLE,
    kit=_TEXT,
    revision=_TEXT,
    serial=_TEXT,
    mains_volts=_WHOLE,
    started_at=_MOMENT,
    finished_at=_MOMENT,
    readings=_TEXT,
)
FINDING = _object(
    stage=_TEXT,
    check=_TEXT,
    title=_TEXT,
    finding=_TEXT,
    probability=_NUMBER,
    builds=_WHOLE,
    decision={"type": ["string", "null"]},
    corrected={"type": ["string", "null"]},
)
_YES = {"type": "boolean"}
SAVED = _object(saved=_YES, switch_off=_YES, text=_TEXT, reading=READING)
NOT_SAVED = _object(saved=_YES, switch_off=_YES, text=_TEXT)
ERROR = _object(error=_object(code=_TEXT, text=_TEXT))


_UNCHANGED = {"304": {"description": "Unchanged"}}


def find_page(item: dict) -> dict:
    return _object(count=_WHOLE, next={"type": ["string", "null"]}, items={"type": "array", "items": item})


def _parameters(names: str, paged: bool) -> list[dict]:
    kinds = {"pk": _WHOLE}
    parameters = [{"name": n, "in": "path", "required": True, "schema": kinds.get(n, _TEXT)} for n in names.split()]
    return parameters + ([{"name": "page", "in": "query", "schema": _WHOLE}] if paged else [])


def _get(summary: str, item: dict, names: str = "", paged: bool = True) -> dict:
    parameters = _parameters(names, paged)
    answers = {"200": _answer(summary, find_page(item)), **_UNCHANGED, **_refusals(bool(names))}
    return {"get": {"summary": summary, "parameters": parameters, "responses": answers}}


def _answer(text: str, schema: dict) -> dict:
    return {"description": text, "content": {"application/json": {"schema": schema}}}


def _refusals(named: bool) -> dict:
    """What every call may be answered. `named`: its address names something, which may not be there."""
    texts = {"401": "No valid token", "403": "The token lacks the permission", "429": "Too many calls in an hour"}
    if named:
        texts["404"] = "Not found, or this token has no access to it"
    return {status: _answer(text, ERROR) for status, text in texts.items()}


_FLAG = {"type": "string", "enum": ["", "on"]}
_ENTRY = {
    "type": "object",
    "required": ["typed", "entry_key"],
    "properties": {
        "typed": {**_TEXT, "description": "what the meter shows, such as 285 or OL"},
        "unit": {**_TEXT, "description": "the unit on the meter, such as V, mV or kΩ"},
        "entry_key": {
            **_TEXT,
            "format": "uuid",
            "description": "a repeated call with the same key and content adds nothing",
        },
        "is_slip": {**_FLAG, "description": "on: corrects a typing error in the previous entry"},
        "sure": {**_FLAG, "description": "on: confirms a value that the site asked about (“did you mean …?”)"},
    },
}
_POSTED = {
    "201": _answer("Saved, with its verdict. If switch_off is true, act on it at once", SAVED),
    "400": _answer("The body is not an entry", ERROR),
    "409": _answer("Something else must be done first: cautions, making safe, a stop", ERROR),
    "413": {"description": "The body is too large"},
    "422": _answer("Refused, with the reason at each field", ERROR),
    "503": _answer("Judged but not saved. If switch_off is true, act on it at once", NOT_SAVED),
    **_refusals(named=True),
}
_DOCUMENTED = {"200": _answer("This document", {"type": "object"}), **_UNCHANGED, **_refusals(named=False)}
DOCUMENT = {
    "openapi": "3.1.0",
    "info": {"title": "Kit builds", "version": "1"},
    "security": [{"token": []}],
    "components": {"securitySchemes": {"token": {"type": "http", "scheme": "bearer"}}},
    "paths": {
        "/api/v1/openapi.json": {"get": {"summary": "This document", "responses": _DOCUMENTED}},
        "/api/v1/kits": _get("Kits you design", KIT),
        "/api/v1/builds": _get("Your own builds, and the builds of kits you design", BUILD),
        "/api/v1/builds/{pk}/readings": _get("Readings of a build", READING, "pk"),
        "/api/v1/kits/{kit}/{letter}/readings": _get("Readings of all builds of a revision", READING, "kit letter"),
        "/api/v1/kits/{kit}/{letter}/findings": _get("Findings of a revision", FINDING, "kit letter", paged=False),
        "/api/v1/builds/{pk}/stages/{stage}/checks/{check}/readings": {
            "post": {
                "summary": "Save a reading of your own build, with the same rules and verdict as on the page",
                "parameters": _parameters("pk stage check", paged=False),
                "requestBody": {"required": True, "content": {"application/json": {"schema": _ENTRY}}},
                "responses": _POSTED,
            }
        },
    },
}
