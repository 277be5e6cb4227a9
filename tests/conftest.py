"""Fixtures shared by the property tests."""

import pytest
from blend_samples import COMMON_GASES, SIX_FRACTIONS, SIX_GASES


@pytest.fixture(scope="session")
def model_of():
    """Property models by gases, built once; keyword arguments as for MultiFluidModel."""
    from mixjt.fluid.multi_fluid import MultiFluidModel

    known = {}

    def build(gases, threads=1, check_span=16.0):
        key = (tuple(gases), threads, check_span)
        if key not in known:
            known[key] = MultiFluidModel(gases, threads=threads, check_span=check_span)
        return known[key]

    return build


@pytest.fixture(scope="session")
def six(model_of):
    """The model of six usual gases."""
    return model_of(SIX_GASES)


@pytest.fixture
def six_z():
    """A blend of the six gases that shows one, two and three phases on its way down."""
    import numpy as np

    return np.array(SIX_FRACTIONS)


@pytest.fixture(scope="session")
def common(model_of):
    """The model of all common gases."""
    return model_of(COMMON_GASES)


@pytest.fixture
def one_model(monkeypatch, model_of):
    """Commands take the models of the session."""
    from mixjt.cli import solved_case

    monkeypatch.setattr(solved_case, "chosen_model", lambda name, gases: model_of(gases))
