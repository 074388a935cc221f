"""A word when blocks take long to load, none when they do not."""

import time

from quadsim.cli import kernels


def test_a_word_is_said_only_when_it_takes_long(monkeypatch, capsys):
    with kernels.blocks_loading():
        pass
    monkeypatch.setattr(kernels, "PATIENCE_S", 0.01)
    assert capsys.readouterr().err == ""
    with kernels.blocks_loading():
        time.sleep(0.3)
    seen = capsys.readouterr()
    assert seen.err.startswith("preparing the control blocks") and seen.out == ""
