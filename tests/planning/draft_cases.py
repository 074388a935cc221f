"""An invented course for tests of the layout."""

from quadsim.planning.course_plan import (
    BoxPlan,
    CoursePlan,
    FieldPlan,
    GatePlan,
    PostPlan,
    StartPlan,
)


def invented_plan() -> CoursePlan:
    """Three gates of which the first is flown twice, one post, one box."""
    return CoursePlan(
        name="Invented",
        gates=(
            GatePlan("near", 10.0, 0.0, 2.0, 0.0, 2.0, 2.0),
            GatePlan("right", 20.0, 8.0, 3.0, 45.0, 2.5, 2.0),
            GatePlan("far", 30.0, -4.0, 2.0, 270.0, 2.0, 1.5),
        ),
        order=("near", "right", "far", "near"),
        posts=(PostPlan("pole", 15.0, -6.0, 4.0, 0.05),),
        boxes=(BoxPlan("hut", (22.0, 26.0), (-14.0, -9.0), (0.0, 3.0)),),
        start=StartPlan(0.0, 0.0, 0.0, 0.0),
        field=FieldPlan((-10.0, 50.0), (-30.0, 30.0), 20.0),
        closed=False,
        laps=1,
        clearance_m=0.3,
    )
