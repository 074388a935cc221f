"""What is printed of flown winners, from results made up here."""

import math
from types import SimpleNamespace

import pytest

from quadsim.cli.confirm_text import confirmation_document, print_confirmation
from quadsim.parts.confirm import Confirmation, Confirmed, Flown


def choice(name, points):
    frame = SimpleNamespace(name=name)
    return SimpleNamespace(
        choice=SimpleNamespace(shared=SimpleNamespace(frame=frame)), points=points, price=400.0
    )


def confirmation(lap=10.5, flown_points=(90.0, 80.0), load=1.02):
    events = {
        "slalom": Flown("slalom", 10.0, lap, "how", {}),
        "lift": Flown("lift", 1.0, load, "how", {}),
        "dash": Flown("dash", 40.0, 39.0, "how", {"tilt_max": 1.2}),
    }
    first = [
        Confirmed(choice(name, points), events, flown)
        for name, points, flown in zip(("Alpha", "Beta"), (100.0, 95.0), flown_points, strict=True)
    ]
    first.sort(key=lambda one: -one.points)
    return Confirmation(first, {"lift": (choice("Gamma", 70.0), events["lift"])}, jobs=7, flown=7)


@pytest.mark.parametrize(
    ("made", "words"),
    [
        (
            confirmation(),
            ("all within 10 %", "stays first", "+5.0 %", "1020 g", "best lift", "Gamma", "-2.5 %"),
        ),
        (confirmation(lap=12.0), ("not within 10 % of the estimate: slalom", "+20.0 %", "NOT as estimated")),
        (confirmation(flown_points=(80.0, 90.0)), ("another choice is first",)),
        (confirmation(lap=math.inf), ("not flown",)),
    ],
)
def test_tables_say_what_was_flown(made, words, capsys):
    print_confirmation(made)
    text = capsys.readouterr().out
    for word in words:
        assert word in text


def test_json_has_no_infinity_and_says_what_agrees():
    document = confirmation_document(confirmation(lap=math.inf))
    slalom = document["first"][0]["events"]["slalom"]
    assert slalom["flown"] is None and slalom["difference"] is None and slalom["agrees"] is False
    assert document["agrees"] is False and confirmation_document(confirmation())["agrees"] is True
    assert document["first"][0]["events"]["lift"]["flown"] == pytest.approx(1020.0)
    assert document["best_per_event"]["lift"]["frame"] == "Gamma"
