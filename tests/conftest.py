"""Fixtures shared by the property tests."""

import pytest
from blend_samples import COMMON_GASES, SIX_FRACTIONS, SIX_GASES


@pytest.fixture(scope="session")
def fast_model():
    """Fast models by parameter set and gases, built once; keyword arguments as for FastModel."""
    from mixjt.properties.fast import FastModel
    from mixjt.properties.parameters import load_parameters

    known = {}

    def build(gases, name="soave-redlich-kwong", threads=1, check_span=12.0):
        key = (name, tuple(gases), threads, check_span)
        if key not in known:
            known[key] = FastModel(load_parameters(name, gases), threads, check_span)
        return known[key]

    return build


@pytest.fixture(scope="session")
def six(fast_model):
    """The default model of six usual gases."""
    return fast_model(SIX_GASES)


@pytest.fixture
def six_z():
    """A blend of the six gases that shows one, two and three phases on its way down."""
    import numpy as np

    return np.array(SIX_FRACTIONS)


@pytest.fixture(scope="session")
def common(fast_model):
    """The default model of all common gases."""
    return fast_model(COMMON_GASES)
