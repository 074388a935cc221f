"""Works the layout screen as a user does: keys, clicks, drags."""

from quadsim.viewer.plan_panel import action_places
from quadsim.viewer.plan_state import ACTIONS
from quadsim.viewer.window import Happening

SIZE = (1280, 720)


class Hand:
    """Works an editor as a user does."""

    def __init__(self, editor):
        self.editor = editor

    def keys(self, *names):
        for name in names:
            self.editor.hear(Happening("key", key=name, text=name if len(name) == 1 else ""))

    def write(self, text):
        self.keys(*("space" if letter == " " else letter for letter in text))

    def at(self, forward, right):
        x, y = self.editor.view.to_px(forward, right)
        return round(x), round(y)

    def drag(self, begin, *way):
        self.editor.hear(Happening("press", at=begin))
        before = begin
        for point in way:
            moved = point[0] - before[0], point[1] - before[1]
            self.editor.hear(Happening("drag", at=point, moved=moved))
            before = point
        self.editor.hear(Happening("release", at=before))

    def click(self, box):
        self.drag((box.x + box.w // 2, box.y + box.h // 2))

    def wheel(self, at, notches):
        self.editor.hear(Happening("move", at=at))
        self.editor.hear(Happening("wheel", notches=notches))

    def button(self, text):
        state = self.editor.state
        places = action_places(self.editor.layout, state)
        labels = [label for _, label in ACTIONS[state.chosen.kind]]
        self.click(places[labels.index(text)])

    def row(self, label):
        return [row.label for row in self.editor.rows].index(label)
