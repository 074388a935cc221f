"""Pictures without a window, and what `import quadsim.viewer` costs."""

import re
import struct
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

import quadsim.viewer
from quadsim.errors import FlightError, InputError
from quadsim.viewer import render, save_frames


def png_size(path):
    """Width and height in the IHDR chunk (ISO/IEC 15948, 11.2.2)."""
    head = path.read_bytes()[:24]
    assert head[:8] == b"\x89PNG\r\n\x1a\n"
    return struct.unpack(">II", head[16:24])


def test_frames_are_png_files_in_order(run, tmp_path):
    paths = save_frames(run, tmp_path / "new" / "folder", count=3, size=(1280, 720))
    assert [p.name for p in paths] == ["frame_0000.png", "frame_0001.png", "frame_0002.png"]
    assert {png_size(p) for p in paths} == {(1280, 720)}
    assert len({p.read_bytes() for p in paths}) == 3


def test_times_and_rate(run, tmp_path):
    assert len(save_frames(run, tmp_path, times=[0.0, 30.0], size=(960, 540))) == 2
    assert len(save_frames(run, tmp_path, fps=0.1, size=(960, 540))) == 4  # 0, 10, 20 and 30 s


@pytest.mark.parametrize("camera", ["chase", "fixed", "onboard", "top"])
def test_same_run_same_picture(run, camera):
    first, second = (
        render(run, 9.0, (1280, 720), camera).pixels(),
        render(run, 9.0, (1280, 720), camera).pixels(),
    )
    assert first == second
    assert first != render(run, 9.5, (1280, 720), camera).pixels()


def test_a_crash_shows_its_verdict(crash):
    # The card of a failed flight is headed by a bar in the alarm colour, at its left edge.
    pixels = np.frombuffer(render(crash, 30.0).pixels(), np.uint8).reshape(720, 1280, 3)
    before = np.frombuffer(render(crash, 20.0).pixels(), np.uint8).reshape(720, 1280, 3)
    red = [(p[110:200, 12:16] == (196, 38, 20)).all(axis=2).mean() for p in (pixels, before)]
    assert red[0] > 0.9 and red[1] < 0.1


@pytest.mark.parametrize("bad", [np.nan, np.inf, 1e30])
def test_a_diverged_flight_is_drawn(run, bad):
    for name in ("position_m", "velocity_m_s", "attitude", "rates_rad_s", "thrust_N", "battery_current_A"):
        run.data[name][-5:] = bad
    with np.errstate(all="raise"):
        assert render(run, 30.0, (960, 540)).size == (960, 540)


def test_a_run_of_one_row_is_drawn(run):
    run.data = {name: values[:1] for name, values in run.data.items()}
    assert render(run, 0.0).size == (1280, 720)


@pytest.mark.parametrize(
    ("options", "words"),
    [
        ({"times": [31.0]}, "must be from 0 to 30 s"),
        ({"count": 0}, "must be from 1 to"),
        ({"fps": -1.0}, "above 0"),
        ({"fps": 5.0, "count": 3}, "give one of them"),
        ({"camera": "side"}, "must be one of"),
        ({"size": (10, 10)}, "must be from 960"),
    ],
)
def test_bad_options_are_explained(run, tmp_path, options, words):
    with pytest.raises(InputError, match=re.escape(words)):
        save_frames(run, tmp_path, **options)


def test_an_empty_run_is_refused(run, tmp_path):
    run.data = {name: values[:0] for name, values in run.data.items()}
    with pytest.raises(InputError, match="no rows"):
        save_frames(run, tmp_path)


def test_a_folder_that_cannot_be_made(run, tmp_path):
    (tmp_path / "file").write_text("in the way")
    with pytest.raises(FlightError, match="cannot be made"):
        save_frames(run, tmp_path / "file" / "frames")


def test_importing_the_viewer_is_light():
    code = "import sys, quadsim.viewer; sys.exit('pygame' in sys.modules or 'matplotlib' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


def test_frames_open_no_display_and_print_nothing():
    code = "import quadsim.viewer.frames, pygame, sys; sys.exit(pygame.display.get_init() or 'matplotlib' in sys.modules)"
    done = subprocess.run(
        [sys.executable, "-W", "error", "-c", code], check=False, capture_output=True, text=True
    )
    assert (done.returncode, done.stdout, done.stderr) == (0, "", "")


def test_pygame_is_imported_in_one_file():
    package = Path(quadsim.viewer.__file__).parents[1]
    importing = [
        p.name
        for p in package.rglob("*.py")
        if re.search(r"^\s*(import|from) pygame", p.read_text("utf-8"), re.M)
    ]
    assert importing == ["canvas.py"]


def test_an_unknown_name_lists_the_known():
    with pytest.raises(AttributeError, match="save_frames"):
        quadsim.viewer.nothing  # noqa: B018
