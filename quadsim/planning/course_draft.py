"""A course being laid out: the plan as it stands, the steps that can be undone, what is wrong with it."""

from __future__ import annotations

from collections.abc import Callable

from quadsim.planning.course_plan import CoursePlan

Edit = Callable[[CoursePlan], CoursePlan]
MOST_STEPS = 1000
"""Steps that can be undone; a plan is a few kilobytes."""


class CourseDraft:
    """A plan with its past and its future. A drag is one step, however many places it goes through.

    Parameters
    ----------
    plan : the course as opened
    """

    def __init__(self, plan: CoursePlan) -> None:
        self.plan = plan
        self._kept = plan
        self._past: list[CoursePlan] = []
        self._future: list[CoursePlan] = []
        self._grip: CoursePlan | None = None

    @property
    def changed(self) -> bool:
        """True when the plan differs from what was opened or last kept."""
        return self.plan != self._kept

    @property
    def held(self) -> CoursePlan:
        """Within a drag the plan as it was when the drag began, else as it stands."""
        return self.plan if self._grip is None else self._grip

    @property
    def can_undo(self) -> bool:
        """True when there is a step to take back."""
        return bool(self._past)

    @property
    def can_redo(self) -> bool:
        """True when there is a step to do again."""
        return bool(self._future)

    def do(self, edit: Edit) -> bool:
        """Take a step; False when it changes nothing. Within a drag it belongs to the drag."""
        after = edit(self.plan)
        if after == self.plan:
            return False
        if self._grip is None:
            self._remember(self.plan)
        self.plan = after
        return True

    def grip(self) -> None:
        """A drag begins: until `let_go` all steps are one."""
        self.let_go()
        self._grip = self.plan

    def from_grip(self, edit: Edit) -> None:
        """Within a drag: the plan as it was when the drag began, edited. A drag back to its start leaves no step."""
        self.plan = edit(self.held)

    def let_go(self) -> None:
        """The drag ends."""
        before, self._grip = self._grip, None
        if before is not None and before != self.plan:
            self._remember(before)

    def undo(self) -> bool:
        """Take the last step back; False when there is none."""
        self.let_go()
        if not self._past:
            return False
        self._future.append(self.plan)
        self.plan = self._past.pop()
        return True

    def redo(self) -> bool:
        """Do what was undone again; False when there is nothing."""
        self.let_go()
        if not self._future:
            return False
        self._past.append(self.plan)
        self.plan = self._future.pop()
        return True

    def keep(self) -> None:
        """The plan as it stands has been saved."""
        self._kept = self.plan

    def _remember(self, before: CoursePlan) -> None:
        self._past = [*self._past[-MOST_STEPS + 1 :], before]
        self._future = []
