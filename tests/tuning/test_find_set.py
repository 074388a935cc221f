"""Corners at which hardly any thrust is left give way, wherever the search finds that no gains keep to the limits there."""

from types import SimpleNamespace

import pytest

from quadsim.tuning import tune


class Shop:
    """Corners by name; "tired" is strained."""

    def __init__(self, *names):
        self.corners = [SimpleNamespace(name=one, strained=one == "tired", idling=False) for one in names]
        self.bench, self.resting, self.opened, self.w = None, {"guide": None}, [], None

    def only(self, kept):
        return Shop(*(self.corners[k].name for k in kept))


@pytest.fixture
def fails(monkeypatch):
    """Which corner takes the gains away, and at which stage."""
    at = SimpleNamespace(stage="", corner="tired")
    names = lambda shop: [one.name for one in shop.corners]  # noqa: E731
    monkeypatch.setattr(
        tune, "choose_filters",
        lambda shop, *_: None if at.stage == "filters" and at.corner in names(shop) else (90.0, 40.0),
    )  # fmt: skip
    monkeypatch.setattr(tune, "make_axis", lambda shop, axis, *_: (names(shop), axis))
    monkeypatch.setattr(tune, "present", lambda *_: None)
    found = SimpleNamespace(verdict=SimpleNamespace(worst=[0]))
    lost = lambda made: at.stage == f"axis {made[1]}" and at.corner in made[0]  # noqa: E731
    monkeypatch.setattr(tune, "search", lambda made, *_, **__: None if lost(made) else found)
    monkeypatch.setattr(tune, "height_plant", lambda *_: None)
    monkeypatch.setattr(tune, "search_height", lambda *_: None)
    monkeypatch.setattr(tune, "_assembled", lambda *given: given[-1])
    return at


@pytest.mark.parametrize("stage", ["filters", "axis 0", "axis 1"])
def test_a_strained_corner_gives_way_at_every_stage(fails, stage):
    fails.stage = stage
    assert tune.find_set(Shop("hover", "tired"), None, "empty", lambda *_: None) == ("tired",)


@pytest.mark.parametrize("stage", ["filters", "axis 0", "axis 2"])
def test_another_corner_does_not(fails, stage):
    fails.stage, fails.corner = stage, "hover"
    assert tune.find_set(Shop("hover", "tired"), None, "empty", lambda *_: None) is None


def test_nothing_is_left_out_where_all_can_be_kept(fails):
    assert tune.find_set(Shop("hover", "tired"), None, "empty", lambda *_: None) == ()
