"""What `lap --proof` says."""

from types import SimpleNamespace

import pytest

from quadsim.cli.lap_proof import proof_document, show_proof

PLAN = SimpleNamespace(line=SimpleNamespace(total=6.6), bound=SimpleNamespace(total=6.3))


def test_nothing_without_a_proof(capsys):
    show_proof(PLAN, None)
    assert proof_document(PLAN, None) == {} and capsys.readouterr().out == ""


def test_time_and_share(capsys):
    show_proof(PLAN, 6.0)
    said = capsys.readouterr().out
    assert "under 6.00 s" in said and "+10 %" in said
    found = proof_document(PLAN, 6.0)
    assert found == {"proven_bound_s": 6.0, "above_proven_bound": pytest.approx(0.1)}
