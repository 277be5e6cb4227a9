"""Fixtures shared by the property tests."""

import pytest
from blend_samples import COMMON_GASES, SIX_FRACTIONS, SIX_GASES


def pytest_configure(config):
    """Files go to further processes in the order of the items, not the one with the most tests first: those are quick ones."""
    if hasattr(config.option, "loadscopereorder"):
        config.option.loadscopereorder = False


def pytest_collection_modifyitems(items):
    """Files with slow tests first, so that none is left for one process at the end."""
    slow = {item.path for item in items if item.get_closest_marker("slow")}
    items.sort(key=lambda item: item.path not in slow)


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
