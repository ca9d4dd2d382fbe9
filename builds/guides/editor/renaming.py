"""A part under another reference, wherever a guide names it."""


def rename_part(data: dict, old: str, new: str) -> dict:
    """The guide with every step, stage, check and fault that named `old` naming `new`."""
    return data | {
        "stage": [_stage(stage, old, new) for stage in data["stage"]],
        "fault": [fault | {"part": new} if fault.get("part") == old else fault for fault in data.get("fault", [])],
    }


def _stage(stage: dict, old: str, new: str) -> dict:
    stage = dict(stage)
    if stage.get("not_fitted"):
        stage["not_fitted"] = [new if ref == old else ref for ref in stage["not_fitted"]]
    if stage.get("settings"):
        stage["settings"] = {new if ref == old else ref: value for ref, value in stage["settings"].items()}
    if stage.get("step"):
        stage["step"] = [_step(step, old, new) for step in stage["step"]]
    if stage.get("check"):
        stage["check"] = [_check(check, old, new) for check in stage["check"]]
    return stage


def _step(step: dict, old: str, new: str) -> dict:
    return step | {"parts": [new if ref == old else ref for ref in step["parts"]]} if step.get("parts") else step


def _check(check: dict, old: str, new: str) -> dict:
    found = dict(check)
    for end in ("red", "black"):
        place = found.get(end, "")
        if place.startswith(f"{old}."):
            found[end] = f"{new}.{place.removeprefix(f'{old}.')}"
    if found.get("through") == old:
        found["through"] = new
    for key, place in (found.get("signal") or {}).items():
        if key in ("into", "load_at") and place.startswith(f"{old}."):
            found["signal"] = found["signal"] | {key: f"{new}.{place.removeprefix(f'{old}.')}"}
    return found
