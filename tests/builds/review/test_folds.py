"""What a long page of the review shows unfolded: the first stage with a reading out of band, one signal at a time."""

from types import SimpleNamespace

from builds.bench.models import Recording
from builds.guides.circuit.model_comparison import ModelComparison, StageComparison
from builds.guides.models import Check, Stage
from builds.guides.points_map.points import MapPoint
from builds.review.amplifier.recorded import by_signal
from builds.review.point_map import CheckOverBuilds, PointOverBuilds, by_stage


def line(stage: Stage, outcome: str | None) -> CheckOverBuilds:
    worst = outcome and (1.0, 1, "FW-001", outcome)
    return CheckOverBuilds(Check(stage=stage), None, None, worst, int(bool(worst)))


def point(number: int, *lines: CheckOverBuilds) -> PointOverBuilds:
    return PointOverBuilds(MapPoint(number, f"n{number}", "", tuple(row.check for row in lines)), lines)


def test_the_first_stage_with_a_reading_out_of_band_is_open_and_no_other():
    first, second, third, bare = (Stage(pk=n) for n in range(1, 5))
    rows = [
        point(1, line(first, "in band"), line(second, "out of band")),
        point(2, line(second, None), line(third, "switch off")),
    ]
    groups = by_stage(rows, [first, second, third, bare])
    assert [group.stage for group in groups] == [first, second, third], "a stage that reads no point has no fold"
    assert [(group.off, group.is_open) for group in groups] == [(0, False), (1, True), (1, False)]
    assert [at.number for at, _line in groups[1].lines] == [1, 2]


def test_where_all_is_in_band_every_stage_is_folded():
    stage = Stage(pk=1)
    assert [group.is_open for group in by_stage([point(1, line(stage, "in band"))], [stage])] == [False]


def test_only_recordings_of_one_signal_are_offered_together():
    plans = [("tone", [1000.0]), ("silence", []), ("tone", [100.0]), ("tone", [1000.0])]
    rows = [Recording(pk=n, plan={"signal": signal, "hertz": hertz}) for n, (signal, hertz) in enumerate(plans, 1)]
    assert [[row.pk for row in group] for group in by_signal(rows)] == [[2], [3], [1, 4]]


def test_a_check_whose_figure_is_off_the_circuits_is_not_among_those_that_agree():
    check = SimpleNamespace(unit="V")
    model = {"value": 227.0, "low": 219.0, "high": 235.0}
    agreeing = ModelComparison(check, model, "", 230.0, None, None)
    off = ModelComparison(check, model, "", 262.0, None, None)
    stage = StageComparison(Stage(), (agreeing, off))
    assert stage.differing == (off,)
    assert stage.agreeing == (agreeing,)
