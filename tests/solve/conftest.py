"""What the solver tests share."""

import pytest


@pytest.fixture
def unchecked(monkeypatch):
    """Leave out the model's own check, which would find the fault first."""
    monkeypatch.setattr("femkit.solve.statics.find_faults", lambda model: [])
