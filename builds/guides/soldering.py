"""At which stage and step of a guide a part is soldered in."""


def soldering_step(guide, refs):
    """(stage, step) that solders in the first of these parts that any does: of the steps that name it, after the last
    stage it stays out of, the one that names the fewest, since parts are sorted by the bagful and fitted a few at a
    time. What no step names goes in with the stage after those it stays out of: (stage, None)."""
    for ref in refs:
        out = [n for n, stage in enumerate(guide.stages) if ref in stage.not_fitted]
        first = out[-1] + 1 if out else 0
        naming = [
            (len(step.parts), stage, step)
            for stage in guide.stages[first:]
            for step in stage.steps.all()
            if ref in step.parts
        ]
        if naming:
            return min(naming, key=lambda place: place[0])[1:]
        if out and first < len(guide.stages):
            return guide.stages[first], None
    return None


def waiting_parts(guide) -> dict[str, list[str]]:
    """Stage key -> the parts that only a later stage solders in."""
    order = {stage.key: n for n, stage in enumerate(guide.stages)}
    step_of = {ref: soldering_step(guide, [ref]) for ref in sorted(guide.parts)}
    return {key: [ref for ref, at in step_of.items() if at and order[at[0].key] > n] for key, n in order.items()}
