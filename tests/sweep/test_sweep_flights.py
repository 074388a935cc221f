"""Sweeps flown: the order, the same numbers whatever flies them, what is kept, what is refused, the worst one flown again."""

import math
import multiprocessing
import tomllib
from dataclasses import replace

import numpy as np
import pytest

from quadsim.errors import FlightError
from quadsim.simulation.fly import fly as fly_alone
from quadsim.sweep import crew, pilot
from quadsim.sweep.again import command, files_of, write_files
from quadsim.sweep.crew import fly_cases
from quadsim.sweep.draws import values
from quadsim.sweep.kept import KeptFlights
from quadsim.sweep.outcome import Share, edges, outcome
from quadsim.sweep.sweep import fly, known_and_missing, prepare
from quadsim.sweep.toml_text import toml_text
from quadsim.sweep.trials import own_merit
from quadsim.sweep.wanted import Wanted

GRID = ["wind.gusts#1.speed_m_s=0,20", "battery.capacity_mAh=1300,1500,1700"]


def figures(came):
    return {number: one.flown.figures for number, one in came.judged.items()}


def test_the_last_key_runs_fastest_and_every_combination_has_the_same_seeds(flight):
    sweep = prepare(Wanted(str(flight), vary=GRID, seeds=2, seed=40))
    assert [cell.values for cell in sweep.cells[:4]] == [
        (0.0, 1300.0),
        (0.0, 1500.0),
        (0.0, 1700.0),
        (20.0, 1300.0),
    ]
    assert [(case.number, case.cell.number, case.seed) for case in sweep.cases[:4]] == [
        (1, 0, 40), (2, 0, 41), (3, 1, 40), (4, 1, 41)
    ]  # fmt: skip
    assert len(sweep.cases) == 12


@pytest.mark.jit
def test_the_same_numbers_whatever_the_number_of_processes(swept, monkeypatch):
    monkeypatch.setattr(crew, "start_method", lambda: "spawn")  # what every system has
    wanted = {"vary": ["wind.gusts#1.speed_m_s=0,20", "battery.capacity_mAh=1300,1500"], "seeds": 2}
    alone, two = swept("a", jobs=1, **wanted), swept("b", jobs=2, **wanted)
    assert figures(alone) == figures(two)
    assert len({one["max_tilt_deg"] for one in figures(alone).values()}) == 8  # and no two flights are one


@pytest.mark.jit
@pytest.mark.filterwarnings("ignore:.*multi-threaded:DeprecationWarning")  # the test runner's thread
def test_a_helper_that_dies_is_said_and_none_is_left_behind(flight, monkeypatch):
    quicker = "fork" if "fork" in multiprocessing.get_all_start_methods() else "spawn"
    monkeypatch.setattr(crew, "start_method", lambda: quicker)
    sweep = prepare(Wanted(str(flight), seeds=200))
    flights = fly_cases(sweep.base, sweep.cases, 2)
    next(flights)
    multiprocessing.active_children()[0].kill()
    with pytest.raises(FlightError, match="ended by itself"):
        list(flights)
    assert not multiprocessing.active_children()


def test_a_flight_among_others_is_the_flight_alone(swept, tmp_path):
    """Records shared with its neighbours change nothing: the files written for it give the very same metrics."""
    came = swept(vary=[*GRID, "duration_s=0.05,0.1"], seeds=2)
    for number in (1, 6, 23):
        case = came.case(number)
        place = write_files(came.sweep, case, tmp_path / "again")[-1]
        run = fly_alone(str(place))
        one = came.judged[number]
        assert run.meta["seed"] == case.seed
        assert (run.status, run.passed) == (one.flown.status, one.passed)
        assert {name: run.metrics[name] for name in ("max_tilt_deg", "end_s")} == one.flown.figures
        assert command(came.sweep, case).startswith("quadsim fly quadsim-sweeps/moment_")


def test_where_only_the_seed_differs_the_command_needs_no_file(flight):
    sweep = prepare(Wanted(str(flight), seeds=3, laws=["lqr"]))
    assert files_of(sweep, sweep.cases[1]) == {}
    words = command(sweep, sweep.cases[1]).split()
    assert words[:5] == ["quadsim", "fly", str(flight), "--seed", "6"]
    assert words[-2:] == ["--rate", "lqr"]


def test_data_written_as_toml_reads_back_the_same():
    data = {
        "a": 1, "b": -2.5e-7, "c": 'quo"te\n\\ ü', "d": True, "e": [1.0, [2, 3]], "f": {"x": {"y": [{"z": 1}]}, "odd key": 0.1},
        "g": [{"m": 1, "n": {"o": "p"}}, {"m": 2}], "h": [], "k": {},
    }  # fmt: skip
    assert tomllib.loads(toml_text(data)) == data


class TestKept:
    @pytest.fixture
    def counted(self, monkeypatch):
        flown = []
        real = pilot.fly_through
        monkeypatch.setattr(pilot, "fly_through", lambda session: (flown.append(session.seed), real(session)))
        return flown

    def test_stopped_and_cut_off_it_goes_on_and_flies_nothing_twice(self, flight, tmp_path, counted):
        sweep = prepare(Wanted(str(flight), seeds=8))
        whole = {one.number: one for one in fly_cases(sweep.base, sweep.cases, 1)}
        counted.clear()
        kept = KeptFlights(sweep.base, tmp_path)
        flights = fly(sweep, sweep.cases, kept, 1)
        for _ in range(4):
            next(flights)
        flights.close()
        with kept.file.open("r+b") as file:  # the kill came in the middle of the last line
            file.truncate(kept.file.stat().st_size - 9)
        kept = KeptFlights(sweep.base, tmp_path)
        known, missing = known_and_missing(sweep, kept)
        assert ([one.number for one in known], [case.number for case in missing]) == (
            [1, 2, 3],
            [4, 5, 6, 7, 8],
        )
        assert kept.damaged == 1
        rest = list(fly(sweep, missing, kept, 1))
        assert counted == [5, 6, 7, 8, 8, 9, 10, 11, 12]  # the one that was cut off twice
        assert {one.number: one for one in (*known, *rest)} == whole
        known, missing = known_and_missing(sweep, KeptFlights(sweep.base, tmp_path))
        assert not missing and {one.number: one for one in known} == whole

    def test_a_wider_sweep_flies_only_what_is_new(self, swept, counted):
        swept(vary=["wind.speed_m_s=1,3"])
        counted.clear()
        came = swept(vary=["wind.speed_m_s=1:3:3"], seeds=2)
        assert len(counted) == 4  # 2 m/s with both seeds, and the second seed of the others
        assert len(came.judged) == 6

    def test_other_bounds_judge_anew_and_other_figures_or_files_fly_anew(self, swept, flight, counted):
        first = swept(seeds=2)
        assert (first.share.passed, first.left) == (2, 0)
        flight.write_text(flight.read_text().replace("below = 5", "below = 0.01"), encoding="utf-8")
        counted.clear()
        again = swept(seeds=2)
        assert (counted, again.share.passed) == ([], 0)
        assert again.missed == [("max_tilt_deg below 0.01", 2)]
        swept(seeds=2, metrics=["max_speed_m_s"])
        assert len(counted) == 2
        flight.write_text(flight.read_text().replace("height_m = 3", "height_m = 4"), encoding="utf-8")
        swept(seeds=2)
        assert len(counted) == 4

    def test_what_stands_in_the_files_that_are_named_counts_too(self, flight, tmp_path, monkeypatch):
        monkeypatch.chdir(tmp_path)
        (tmp_path / "law.py").write_text("gain = 1", encoding="utf-8")
        (tmp_path / "wind.csv").write_text("t_s,north_m_s,east_m_s", encoding="utf-8")
        sweep = prepare(Wanted(str(flight), seeds=2))

        def names(**changed):
            kept = KeptFlights(replace(sweep.base, **changed), tmp_path)
            return kept.file.name, kept.name_of(sweep.cases[0])

        windy = {"flight": sweep.base.flight | {"wind": {"record": "wind.csv"}}}
        lawful = {"laws": {"own": {"rate": "law.py:f"}}}
        stated = {"flight": sweep.base.flight | {"controllers": {"rate": "law.py:f"}}}
        before = [names(), names(**windy), names(**lawful), names(**stated)]
        assert len(set(before)) == 4
        assert [names(), names(**windy), names(**lawful), names(**stated)] == before
        (tmp_path / "law.py").write_text("gain = 2", encoding="utf-8")
        (tmp_path / "wind.csv").write_text("t_s,north_m_s,east_m_s\n0,1,2", encoding="utf-8")
        after = [names(), names(**windy), names(**lawful), names(**stated)]
        assert [old == new for old, new in zip(before, after, strict=True)] == [True, False, False, False]


def test_a_combination_that_cannot_be_is_listed_and_the_others_fly(swept):
    came = swept(vary=["propeller.diameter_in=5,9"])
    assert list(came.judged) == [1]
    (refused,) = came.refused
    assert refused.number == 2
    assert "the discs cut each other" in refused.words
    assert came.cells[1].refused == 1
    assert came.left == 0


def test_a_flight_without_a_figure_has_none(swept):
    came = swept(seeds=2, metrics=["touch_down_m_s", "max_tilt_deg"])
    assert all(math.isnan(one["touch_down_m_s"]) for one in figures(came).values())
    assert came.figures[0].least is None
    assert came.influences("touch_down_m_s") is None


def test_the_worst_is_the_one_farthest_beyond_its_bound(swept):
    came = swept(vary=["wind.gusts#1.speed_m_s=0,10,30,20"], seeds=2)
    tilts = {number: one["max_tilt_deg"] for number, one in figures(came).items()}
    assert came.worst.flown.number == max(tilts, key=tilts.get)
    least, greatest = came.figures[0].least, came.figures[0].greatest
    assert (least[1], greatest[1]) == (min(tilts.values()), max(tilts.values()))


def test_a_flight_that_ends_as_it_must_not_is_worse_than_any_bound_missed(swept, flight):
    text = (
        flight.read_text()
        .replace("height_m = 3", "height_m = 0.3")
        .replace("duration_s = 0.1", "duration_s = 0.6")
    )
    flight.write_text(
        text + '\n[[at]]\nt_s = 0\nfault = { kind = "rotor_lost", rotor = "front_left" }\n', encoding="utf-8"
    )
    came = swept(vary=["start.height_m=0.3,80"])
    assert [one.ended for one in came.judged.values()] == [False, True]
    assert came.worst.flown.number == 1


def test_the_edge_lies_between_the_last_that_passes_and_the_first_that_does_not():
    shares = [Share(4, 4), Share(3, 4), Share(0, 0), Share(1, 4), Share(4, 4)]
    assert edges([1, 2, 3, 4, 5], shares) == [(2, 4), (4, 5)]
    assert edges([1, 2], [Share(1, 1), Share(1, 1)]) == []


def test_a_scatter_draws_what_is_uncertain_and_no_flight_is_like_another(flight):
    sweep = prepare(
        Wanted(str(flight), scatter=300, vary=["wind.speed_m_s=1~0.5", "battery.capacity_mAh=1300,1500"])
    )
    names = [one.key.name for one in sweep.drawn]
    assert names[0] == "wind.speed_m_s"
    assert {"propeller.thrust_scale", "motor.kv_rpm_per_V", "battery.cell_resistance_mohm"} <= set(names)
    assert "camera.tilt_deg" not in names
    first, second = sweep.cases[:300], sweep.cases[300:]
    assert [case.seed for case in first] == list(range(5, 305)) == [case.seed for case in second]
    assert [case.changes[1:] for case in first] == [case.changes[1:] for case in second]
    kv = np.array(
        [value for case in first for key, value in case.changes if key.name == "motor.kv_rpm_per_V"]
    )
    assert kv.mean() == pytest.approx(1700.0, abs=0.3)
    assert kv.std() == pytest.approx(34.0, rel=0.03)
    assert np.mean(np.abs(kv - 1700.0) < 34.0) == pytest.approx(
        0.6827, abs=0.02
    )  # one sigma of a normal distribution
    wind = np.array([case.changes[1][1] for case in first])
    assert wind.min() > 0.0
    assert np.median(wind) == pytest.approx(1.0, abs=0.02)


def test_no_drawn_rotor_beats_momentum_theory_and_the_others_stay_as_drawn(flight):
    """Figure of merit CT^1.5 sqrt(2/pi)/CP (momentum theory allows 1; ours is cut at 0.85, `quadsim.contest.uncertainty`)."""
    sweep = prepare(Wanted(str(flight), scatter=200))
    thrust, power = np.array([[value for _, value in case.changes[:2]] for case in sweep.cases]).T
    merit = own_merit(sweep.base) * thrust**1.5 / power
    free = values(sweep.drawn, 200, 5)[:, 1]
    assert 0.5 < own_merit(sweep.base) < 0.75
    assert merit.max() == pytest.approx(0.85, abs=1e-5)
    assert 0 < np.count_nonzero(free != power) < 40
    assert np.all(merit[free == power] <= 0.85 + 1e-5)


def test_a_longer_scatter_begins_with_the_shorter_one(flight):
    short, long = (prepare(Wanted(str(flight), scatter=count)) for count in (20, 70))
    assert [case.changes for case in short.cases] == [case.changes for case in long.cases[:20]]
    other = prepare(Wanted(str(flight), scatter=20, seed=6))
    assert other.cases[0].changes != short.cases[0].changes


def test_a_key_that_no_flight_feels_is_said(flight):
    assert prepare(Wanted(str(flight), vary=["motor.price=1,20"])).warnings == (
        "motor.price makes no difference to any flight",
    )
    assert prepare(Wanted(str(flight), vary=["motor.resistance_mohm=60,70"])).warnings == ()


def test_keys_that_go_together_are_set_together_and_drawn_keys_keep_their_place(swept):
    came = swept(
        vary=["battery.capacity_mAh/battery.mass_g=1300/155,2200/240", "wind.speed_m_s=1~0.2"], scatter=10
    )
    for case in came.flown_cases:
        data = came.sweep.base.craft_data(case.cell.craft, case.changes)["battery"]
        assert (data["capacity_mAh"], data["mass_g"]) in ((1300.0, 155.0), (2200.0, 240.0))
    by_name = {one.name: one.values for one in came.inputs}
    wind = [
        dict((key.name, value) for key, value in case.changes)["wind.speed_m_s"] for case in came.flown_cases
    ]
    assert by_name["wind.speed_m_s"].tolist() == wind


def test_what_is_not_flown_yet_is_counted(flight, tmp_path):
    sweep = prepare(Wanted(str(flight), seeds=3))
    flights = fly(sweep, sweep.cases, KeptFlights(sweep.base, tmp_path), 1)
    came = outcome(sweep, [next(flights)])
    assert (came.left, came.share.flown) == (2, 1)
