"""An invented run in closed form: nothing is flown, every value is known."""

from collections.abc import Callable

import numpy as np
import pytest

from quadsim.simulation.columns import columns
from quadsim.simulation.run import Event, Run, Verdict


@pytest.fixture
def make_run() -> Callable[..., Run]:
    """A run of 2 s; `change(data)` may alter its columns."""

    def make(change=None, title="An invented flight", status="done") -> Run:
        t = np.arange(201) / 100.0
        data = {name: np.zeros((len(t), *signal.shape)) for name, signal in columns().items()}
        data["t_s"] = t
        data["position_m"][:, 2] = -3.0 - t
        data["attitude"][:, 0] = data["signals/attitude_wanted"][:, 0] = 1.0
        data["signals/attitude_weight"][:] = 1.0
        data["signals/mode"][:] = 3.0
        data["signals/target_height_m"][:] = 4.0
        data["signals/motor"][:] = 0.4
        data["battery_voltage_V"][:] = 16.0
        if change is not None:
            change(data)
        events = [
            Event(0.5, "timeline", "a mark"),
            Event(1.0, "fault", "something broke"),
            Event(2.0, "status", "over"),
        ]
        verdicts = [
            Verdict("status", None, "done; must be done", status == "done"),
            Verdict("max_tilt_deg", 1.0, "below 3", True),
        ]
        meta = {"title": title, "about": "", "seed": 1, "stepper": "rk4", "physics_rate_Hz": 4000.0, "cells": 4,
                "version": "0", "flown": "2000-01-01T00:00:00Z"}  # fmt: skip
        return Run(
            "invented", "nobody", status, "over", data, events, {"max_tilt_deg": 1.0}, verdicts, {}, meta
        )

    return make
